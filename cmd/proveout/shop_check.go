package main

import (
	"errors"
	"fmt"
	"regexp"
	"slices"
	"strings"

	"proveout/adapters/slack"
	"proveout/adapters/web"
	"proveout/bot"
	"proveout/knowledge"
)

// publicSetting is the address the pages of a shop are known by.
const publicSetting = "public"

// hostName is the name of a machine, without a port.
var hostName = regexp.MustCompile(`^[A-Za-z0-9]([A-Za-z0-9.-]*[A-Za-z0-9])?$`)

// check checks what a configuration says to the adapters and of where the shop is asked
// for. The error is a knowledge.Errors unless a file cannot be opened.
func (s *shop) check() error {
	src, err := s.source()
	if err != nil {
		return err
	}
	c := &s.config
	if inDatabase(c.Record) {
		if _, _, err := shopIn(c.Record); err != nil {
			what, mend, _ := strings.Cut(err.Error(), "; ")
			src.Fail("record", what, mend)
		}
	}
	if ch, ok := c.Channels[slack.Channel]; ok {
		checkNames(src, slack.Channel, "secret", ch.Secrets, "bot-token", "app-token", signingSecret)
		checkNames(src, slack.Channel, "setting", ch.Settings, "api", "bridge")
	}
	if ch, ok := c.Channels[web.Channel]; ok {
		checkNames(src, web.Channel, "secret", ch.Secrets, "oidc-secret")
		checkNames(src, web.Channel, "setting", ch.Settings, publicSetting, "oidc-issuer", "oidc-client")
		if _, err := (web.Options{Public: ch.Settings[publicSetting]}).Origin(); err != nil {
			src.Fail("channels/web/settings/public", err.Error(), "leave the path out")
		}
		if c.Listen == "" {
			src.Fail("listen", "the pages are asked for at no address", "write listen: and the address they are asked for at")
		}
	}
	switch public := s.host(); {
	case c.Host == "":
	case !hostName.MatchString(c.Host):
		src.Fail("host", fmt.Sprintf("%q is no name of a machine", c.Host), "write it as texts.larkmoor.example")
	case !strings.EqualFold(c.Host, public):
		src.Fail("host", "the pages are asked for by another name, "+public, "leave host: out")
	}
	described := checkTexts(src, *c)
	found, _ := errors.AsType[knowledge.Errors](src.Err())
	if found = append(found, described...); len(found) > 0 {
		return found
	}
	return nil
}

// checkNames holds the secrets or settings of a channel against those there are.
func checkNames[V any](src *bot.Source, channel, what string, given map[string]V, known ...string) {
	for name := range given {
		if !slices.Contains(known, name) {
			src.Fail("channels/"+channel+"/"+what+"s/"+name, fmt.Sprintf("there is no %s %q", what, name), "write one of "+strings.Join(known, ", "))
		}
	}
}

// source reads the configuration once more, for the places of mistakes.
func (s *shop) source() (*bot.Source, error) {
	var tree map[string]any
	return bot.ReadSource(s.file, "configuration", "see proveout serve --help", &tree)
}
