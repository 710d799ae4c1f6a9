package bot

import (
	"context"
	"crypto/rand"
	"time"
)

// codeTries is how often the sending of a code is tried: who does not get it asks again.
const codeTries = 3

// SendCode sends a person the code he signs in with, through the first channel he has.
// It goes past the record, which so never holds a code. CodeNotFound where no channel
// reaches him.
func (s *Service) SendCode(ctx context.Context, person, code string, lasts time.Duration) error {
	p := s.people.by[person]
	if p == nil {
		return &Error{Code: CodeNotFound, Text: "nobody of the shop is called " + person}
	}
	text := s.phrase(s.languageOf(p), "page-code", "code", code, "shop", s.config.Shop, "minutes", minutes(lasts))
	for _, channel := range s.out.channels() {
		if identity := p.Identities[channel]; identity != "" {
			return s.out.once(ctx, Outbound{ID: "code/" + rand.Text(), Channel: channel, To: identity, Text: text})
		}
	}
	return &Error{Code: CodeNotFound, Text: "no channel reaches " + person}
}

// once carries a message that is in no record.
func (o *outbox) once(ctx context.Context, m Outbound) error {
	for n := 1; ; n++ {
		_, err := o.carry(ctx, m)
		if err == nil {
			return nil
		}
		again, after, _ := judged(err)
		if after == 0 {
			after = backoff(o.Backoff, n)
		}
		if !again || n == codeTries || !pause(ctx, after) {
			return err
		}
	}
}
