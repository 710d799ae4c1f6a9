package main

import (
	"errors"
	"fmt"
	"maps"
	"slices"

	"proveout/adapters/slack"
	"proveout/adapters/web"
	"proveout/bot"
)

// signingSecret is the secret requests of a workspace are signed with.
const signingSecret = "signing-secret"

// unlock reads the secrets of a shop's channels. The error names every one that is
// missing or of the wrong kind, and shows none.
func (s *shop) unlock() error {
	read := map[string]map[string]string{}
	var errs []error
	for _, channel := range slices.Sorted(maps.Keys(s.config.Channels)) {
		read[channel] = map[string]string{}
		secrets := s.config.Channels[channel].Secrets
		for _, name := range slices.Sorted(maps.Keys(secrets)) {
			secret, err := secrets[name].Read()
			if err != nil {
				errs = append(errs, fmt.Errorf("%s: channels/%s/secrets/%s: %w", s.file, channel, name, err))
			}
			read[channel][name] = secret
		}
	}
	if len(errs) > 0 {
		return errors.Join(errs...)
	}
	if ch, ok := s.config.Channels[slack.Channel]; ok {
		got := read[slack.Channel]
		s.keys.slack = slack.Options{
			BotToken: got["bot-token"], AppToken: got["app-token"], SigningSecret: got[signingSecret], API: ch.Settings["api"],
		}
		if err := s.keys.slack.Validate(); err != nil {
			return fmt.Errorf("%s: channels/slack/secrets: %w", s.file, err)
		}
	}
	if ch, ok := s.config.Channels[web.Channel]; ok {
		s.keys.pages = web.Options{Public: ch.Settings[publicSetting], Company: web.Company{
			Issuer: ch.Settings["oidc-issuer"], Client: ch.Settings["oidc-client"], Secret: read[web.Channel]["oidc-secret"],
		}}
	}
	if _, ok := s.config.Channels[bot.Texts]; ok {
		var err error
		s.keys.texts, err = s.textKeys(read[bot.Texts])
		return err
	}
	return nil
}
