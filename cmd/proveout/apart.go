package main

import (
	"errors"
	"fmt"
	"path/filepath"

	"github.com/jackc/pgx/v5"

	"proveout/adapters/slack"
	"proveout/adapters/sms"
	"proveout/adapters/web"
	"proveout/bot"
	"proveout/knowledge"
)

// claim is what one shop of an installation alone may have.
type claim struct {
	at   string // where the configuration says it
	what string
	// is tells it from others of its kind, and is not shown: it may be a secret.
	is   string
	mend string
}

// claims are what the shop alone may have; secret says what to compare a secret by.
func (s *shop) claims(secret func(bot.Secret) string) []claim {
	c := &s.config
	out := []claim{
		{"shop", "the name", c.Shop, "call the shops differently: logs and metrics know them by it"},
		{"record", "the record", recordOf(c.Record), "give each shop its own file, or behind # in the address its own name"},
	}
	if host := s.host(); host != "" {
		at := "host"
		if c.Host == "" {
			at = "channels/web/settings/" + publicSetting
		}
		out = append(out, claim{at, "the name it is asked for by", host, "requests are told apart by it: give each shop its own"})
	}
	if ch, ok := c.Channels[slack.Channel]; ok {
		if ch.Conversation != "" {
			out = append(out, claim{"channels/slack/conversation", "the room", ch.Conversation, "both would answer there: give each shop its own"})
		}
		for name, where := range ch.Secrets {
			out = append(out, claim{"channels/slack/secrets/" + name, "the " + name, secret(where), "make an app for each shop: what one hears would reach the other"})
		}
	}
	if ch, ok := c.Channels[bot.Texts]; ok {
		if number, err := bot.E164(ch.Settings[numberSetting], ch.Settings[regionSetting]); err == nil {
			out = append(out, claim{"channels/sms/settings/" + numberSetting, "the number", number, "a text to it would be for either: give each shop its own"})
		}
		if g, err := sms.ReadGateway(ch.Settings[gatewaySetting]); err == nil && g.InParts() {
			out = append(out, claim{"channels/sms/settings", "the folder for parts of texts", absolute(s.parts()), "write parts: and a folder of the shop's own"})
		}
	}
	return out
}

// apart looks whether two shops claim the same, or are asked for at an address where they
// cannot be told apart. The error is a knowledge.Errors, each mistake at the second of two.
func apart(shops []*shop, secret func(bot.Secret) string) error {
	type kind struct{ what, is string }
	claimed := map[kind]*shop{}
	listens := map[string]*shop{}
	var all knowledge.Errors
	for _, s := range shops {
		var shared []claim
		for _, c := range s.claims(secret) {
			k := kind{c.what, c.is}
			if other := claimed[k]; other != nil {
				c.what += " is that of " + other.file + " too"
				shared = append(shared, c)
			}
			claimed[k] = s
		}
		if at := s.config.Listen; at != "" {
			for _, nameless := range []*shop{s, listens[at]} {
				if listens[at] != nil && nameless.asked() && nameless.host() == "" {
					shared = append(shared, claim{
						at: "listen", what: listens[at].file + " is asked for here too, and " + nameless.file + " has no name to be told from it by",
						mend: "write there public: of the pages, or host: and the name gateways ask for",
					})
				}
			}
			listens[at] = s
		}
		found, err := s.mistakes(shared)
		if err != nil {
			return err
		}
		all = append(all, found...)
	}
	if len(all) > 0 {
		return all
	}
	return nil
}

// mistakes finds the places of what is claimed twice.
func (s *shop) mistakes(shared []claim) (knowledge.Errors, error) {
	if len(shared) == 0 {
		return nil, nil
	}
	src, err := s.source()
	if err != nil {
		return nil, err
	}
	for _, c := range shared {
		src.Fail(c.at, c.what, c.mend)
	}
	found, _ := errors.AsType[knowledge.Errors](src.Err())
	return found, nil
}

// asked says whether anybody asks for the shop at its listen, besides for how it is.
func (s *shop) asked() bool {
	channels := s.config.Channels
	_, pages := channels[web.Channel]
	_, texts := channels[bot.Texts]
	_, signed := channels[slack.Channel].Secrets[signingSecret]
	return pages || texts || signed
}

// recordOf is a record's place, however it is written.
func recordOf(record string) string {
	if !inDatabase(record) {
		return absolute(record)
	}
	address, shop, err := shopIn(record)
	if err != nil {
		return record
	}
	c, err := pgx.ParseConfig(address)
	if err != nil {
		return record
	}
	return fmt.Sprintf("%s:%d/%s#%s", c.Host, c.Port, c.Database, shop)
}

// absolute is a path in full, links followed as far as there is something at it.
func absolute(path string) string {
	full, err := filepath.Abs(path)
	if err != nil {
		return path
	}
	if folder, err := filepath.EvalSymlinks(filepath.Dir(full)); err == nil {
		full = filepath.Join(folder, filepath.Base(full))
	}
	if followed, err := filepath.EvalSymlinks(full); err == nil {
		return followed
	}
	return full
}

// whereKept compares secrets by where they are kept, without reading them.
func whereKept(s bot.Secret) string {
	if s.Env != "" {
		return "env " + s.Env
	}
	return absolute(s.File)
}

// whatKept compares secrets by what they are; one that cannot be read is told of elsewhere.
func whatKept(s bot.Secret) string {
	secret, err := s.Read()
	if err != nil {
		return whereKept(s)
	}
	return secret
}
