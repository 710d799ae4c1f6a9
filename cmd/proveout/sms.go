package main

import (
	"errors"
	"fmt"
	"path/filepath"
	"slices"

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

// checkTexts checks what a configuration says of the channel of texts, and gives the
// mistakes in the description of its gateway.
func checkTexts(src *bot.Source, c bot.Config) knowledge.Errors {
	ch, ok := c.Channels[bot.Texts]
	if !ok {
		return nil
	}
	const at = "channels/" + bot.Texts
	checkNames(src, bot.Texts, "setting", ch.Settings, gatewaySetting, numberSetting, regionSetting, partsSetting, "bridge")
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
	return described
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

// textKeys are what the channel of texts is opened with. A text that comes in parts
// waits beside the record for the others, or, where that is in a database, beside the
// configuration.
func (s *shop) textKeys(secrets map[string]string) (sms.Options, error) {
	ch := s.config.Channels[bot.Texts]
	g, err := sms.ReadGateway(ch.Settings[gatewaySetting])
	if err != nil {
		return sms.Options{}, err
	}
	return sms.Options{
		Gateway: g, Number: ch.Settings[numberSetting], Region: ch.Settings[regionSetting], Secrets: secrets, Parts: s.parts(),
	}, nil
}

// parts is the folder where parts of texts wait for the others.
func (s *shop) parts() string {
	if at := s.config.Channels[bot.Texts].Settings[partsSetting]; at != "" {
		return at
	}
	near := s.config.Record
	if inDatabase(near) {
		near = s.file
	}
	return filepath.Join(filepath.Dir(near), "sms-parts")
}
