package main

import (
	"errors"
	"fmt"
	"path/filepath"
	"slices"
	"strings"

	"github.com/prometheus/client_golang/prometheus"
	"github.com/rs/zerolog"

	"proveout/adapters/sms"
	"proveout/bot"
	"proveout/knowledge"
)

// The settings of the channel of texts that are ours; bridge is the service's.
const (
	gatewaySetting = "gateway" // the description of the gateway, a file beside the configuration
	numberSetting  = "number"  // the shop's own
	regionSetting  = "region"  // whose numbers come without a country code
	partsSetting   = "parts"   // the folder where parts of long texts wait; beside the record
)

// checkTexts checks what a configuration says of the channel of texts, and the
// description of its gateway.
func checkTexts(path string, c bot.Config) error {
	ch, ok := c.Channels[bot.Texts]
	if !ok {
		return nil
	}
	var tree map[string]any // read once more, for the places of mistakes
	src, err := bot.ReadSource(path, "configuration", "see proveout serve --help", &tree)
	if err != nil {
		return err
	}
	const at = "channels/" + bot.Texts
	known := []string{gatewaySetting, numberSetting, regionSetting, partsSetting, "bridge"}
	for name := range ch.Settings {
		if !slices.Contains(known, name) {
			src.Fail(at+"/settings/"+name, fmt.Sprintf("there is no setting %q", name), "write one of "+strings.Join(known, ", "))
		}
	}
	if _, err := bot.E164(ch.Settings[numberSetting], ch.Settings[regionSetting]); err != nil {
		src.Fail(at+"/settings/"+numberSetting, "the shop's own number: "+err.Error(), `write number: "+1 303 555 0100"`)
	}
	if c.Listen == "" {
		src.Fail("listen", "texts come to no address", "write listen: and the address the gateway sends them to")
	}
	g, err := sms.ReadGateway(ch.Settings[gatewaySetting])
	described, mistaken := errors.AsType[knowledge.Errors](err)
	switch {
	case ch.Settings[gatewaySetting] == "":
		src.Fail(at+"/settings", "the gateway is not described", "write gateway: and the file that describes it, such as sms/generic.yaml")
	case err != nil && !mistaken:
		src.Fail(at+"/settings/"+gatewaySetting, err.Error(), "write a path from where the configuration lies")
	case err == nil:
		checkTextSecrets(src, at, ch, g.Secrets())
	}
	found, _ := errors.AsType[knowledge.Errors](src.Err())
	if found = append(found, described...); len(found) > 0 {
		return found
	}
	return nil
}

// checkTextSecrets holds the secrets that are kept against those the gateway wants.
func checkTextSecrets(src *bot.Source, at string, ch bot.Channel, wanted []string) {
	for _, name := range wanted {
		if _, kept := ch.Secrets[name]; !kept {
			src.Fail(at, fmt.Sprintf("the gateway wants a secret %q", name), "say where it is kept under secrets:, as "+name+": {env: …} or {file: …}")
		}
	}
	for name := range ch.Secrets {
		if !slices.Contains(wanted, name) {
			src.Fail(at+"/secrets/"+name, fmt.Sprintf("the gateway wants no secret %q", name), "leave it out, or name it in the gateway's description")
		}
	}
}

// openTexts reads the secrets of a gateway and makes its adapter.
func openTexts(c bot.Config, service *bot.Service, registry prometheus.Registerer, log zerolog.Logger) (*sms.Adapter, error) {
	ch := c.Channels[bot.Texts]
	g, err := sms.ReadGateway(ch.Settings[gatewaySetting])
	if err != nil {
		return nil, err
	}
	secrets := map[string]string{}
	for _, name := range g.Secrets() {
		if secrets[name], err = ch.Secrets[name].Read(); err != nil {
			return nil, fmt.Errorf("channels/%s/secrets/%s: %w", bot.Texts, name, err)
		}
	}
	parts := ch.Settings[partsSetting]
	if parts == "" {
		parts = filepath.Join(filepath.Dir(c.Record), "sms-parts")
	}
	return sms.New(service, sms.Options{
		Gateway: g, Number: ch.Settings[numberSetting], Region: ch.Settings[regionSetting], Secrets: secrets, Parts: parts,
		Log: log, Metrics: sms.NewMetrics(registry),
	})
}
