package signin

import (
	"context"
	"crypto/pbkdf2"
	"crypto/rand"
	"crypto/sha256"
	"crypto/subtle"
	"encoding/base64"
	"encoding/hex"
	"errors"
	"fmt"
	"math/big"
	"sync"
	"time"

	"github.com/rs/zerolog"

	"proveout/bot"
)

// What a code and a session are worth. A code of six digits with so many tries, asked
// for so often, is guessed in a day with a probability of under one in a thousand, by
// somebody whose victim gets a text each time.
const (
	codeDigits = 6
	codeLasts  = 10 * time.Minute
	codeTries  = 5

	codesAtOnce, codeEvery = 3, 15 * time.Minute  // for one person
	asksAtOnce, askEvery   = 10, time.Minute      // from one address
	triesAtOnce, tryEvery  = 20, 30 * time.Second // from one address

	// stretch is the rounds a code is hashed with, some hundredths of a second: of a
	// stolen record the codes are found, but not within their time.
	stretch = 100_000

	// usedEvery is how often it is noted that a session is used.
	usedEvery = time.Minute
	// sendWithin bounds the sending of a code.
	sendWithin = 30 * time.Second
)

// Shop is what a desk needs of the service.
type Shop interface {
	// Known finds whom a person says he is.
	Known(said string) (bot.Member, bool)
	// Identified finds who has an identity.
	Identified(channel, identity string) (bot.Member, bool)
	// Colleague gives a person by his id.
	Colleague(id string) (bot.Member, bool)
	// SendCode sends a person a code.
	SendCode(ctx context.Context, person, code string, lasts time.Duration) error
}

// Options are what a desk may be given; the zero value is right.
type Options struct {
	Log zerolog.Logger
	Now func() time.Time
	// Lasts is how long a session is good for at most (30 days), and Idle how long
	// without being used (7 days).
	Lasts, Idle time.Duration
}

// Desk lets people in. It may be shared between goroutines.
type Desk struct {
	Options
	store Store
	shop  Shop
	// codes are sent beside the answer, which so tells nothing by its time.
	sending sync.WaitGroup

	person, ask, try limit
}

// New opens a desk.
func New(store Store, shop Shop, o Options) *Desk {
	if o.Now == nil {
		o.Now = time.Now
	}
	if o.Lasts == 0 {
		o.Lasts = 30 * 24 * time.Hour
	}
	if o.Idle == 0 {
		o.Idle = 7 * 24 * time.Hour
	}
	return &Desk{
		Options: o, store: store, shop: shop,
		person: limit{burst: codesAtOnce, every: codeEvery}, ask: limit{burst: asksAtOnce, every: askEvery}, try: limit{burst: triesAtOnce, every: tryEvery},
	}
}

// secret is 256 bits nobody can guess, as they stand in a cookie.
func secret() string {
	b := make([]byte, 32)
	_, _ = rand.Read(b) // it does not fail
	return base64.RawURLEncoding.EncodeToString(b)
}

// idOf is the name a pass is kept under.
func idOf(secret string) string {
	sum := sha256.Sum256([]byte(secret))
	return hex.EncodeToString(sum[:])
}

func hashed(code string, salt []byte) ([]byte, error) {
	return pbkdf2.Key(sha256.New, code, salt, stretch, sha256.Size)
}

func limited() error {
	return &bot.Error{Code: bot.CodeLimited, Text: "too many tries from here; wait some minutes"}
}

func refused() error {
	return &bot.Error{Code: bot.CodeInvalid, Text: "the code is not right, or its time is over"}
}

// Ask sends a code to whoever somebody says he is, and gives the ticket the code is good
// with, for the browser that asked to keep. It gives one in any case: whether the person
// is known, and whether he was sent a code, is not told. CodeLimited where an address
// asks too often.
func (d *Desk) Ask(ctx context.Context, who, address string) (ticket string, err error) {
	now := d.Now()
	if !d.ask.allow(address, now) {
		return "", limited()
	}
	ticket = secret()
	p, known := d.shop.Known(who)
	if !known || !d.person.allow(p.ID, now) {
		return ticket, nil
	}
	d.sending.Go(func() {
		ctx, cancel := context.WithTimeout(context.WithoutCancel(ctx), sendWithin)
		defer cancel()
		if err := d.send(ctx, p, ticket, now); err != nil {
			d.Log.Error().Err(err).Str("person", p.ID).Msg("sending a code to sign in with")
		}
	})
	return ticket, nil
}

func (d *Desk) send(ctx context.Context, p bot.Member, ticket string, now time.Time) error {
	n, err := rand.Int(rand.Reader, big.NewInt(1_000_000))
	if err != nil {
		return fmt.Errorf("drawing a code: %w", err)
	}
	code := fmt.Sprintf("%0*d", codeDigits, n)
	salt := make([]byte, 16)
	_, _ = rand.Read(salt) // it does not fail
	key, err := hashed(code, salt)
	if err != nil {
		return fmt.Errorf("hashing a code: %w", err)
	}
	if err := d.store.PutPass(ctx, Pass{ID: idOf(ticket), Person: p.ID, Code: key, Salt: salt, Made: now, Used: now, Until: now.Add(codeLasts)}); err != nil {
		return err
	}
	return d.shop.SendCode(ctx, p.ID, code, codeLasts)
}

// Settle waits until every code asked for is sent.
func (d *Desk) Settle() { d.sending.Wait() }

// Enter lets in who has a ticket and its code, and gives the token of his session, for
// his browser to keep. A code is good once. CodeInvalid, CodeLimited.
func (d *Desk) Enter(ctx context.Context, ticket, code, address, device string) (token string, err error) {
	now := d.Now()
	if !d.try.allow(address, now) {
		return "", limited()
	}
	p, err := d.store.UsePass(ctx, idOf(ticket), now)
	switch {
	case bot.CodeOf(err) == bot.CodeNotFound:
		return "", refused()
	case err != nil:
		return "", err
	case p.Code == nil || p.Uses > codeTries || now.After(p.Until):
		return "", refused()
	}
	key, err := hashed(code, p.Salt)
	if err != nil {
		return "", fmt.Errorf("hashing a code: %w", err)
	}
	if subtle.ConstantTimeCompare(key, p.Code) != 1 {
		return "", refused()
	}
	switch err := d.store.DropPass(ctx, p.ID); {
	case bot.CodeOf(err) == bot.CodeNotFound: // somebody was in first with the same code
		return "", refused()
	case err != nil:
		return "", err
	}
	return d.open(ctx, p.Person, device, now)
}

// Admit lets in whom a provider has vouched for, by the identity he has under its
// channel, as "oidc". CodeForbidden where nobody has it.
func (d *Desk) Admit(ctx context.Context, channel, identity, device string) (token string, err error) {
	p, ok := d.shop.Identified(channel, identity)
	if !ok {
		return "", &bot.Error{Code: bot.CodeForbidden, Text: "nobody of the shop is known by that account; the office can add it"}
	}
	return d.open(ctx, p.ID, device, d.Now())
}

func (d *Desk) open(ctx context.Context, person, device string, now time.Time) (string, error) {
	const told = 200 // of what a browser calls itself
	token := secret()
	if len(device) > told {
		device = device[:told]
	}
	return token, d.store.PutPass(ctx, Pass{ID: idOf(token), Person: person, Device: device, Made: now, Used: now, Until: now.Add(d.Lasts)})
}

// Session is somebody signed in.
type Session struct {
	ID                string // names it in a list; it opens nothing
	Who               bot.Member
	Device            string
	Made, Used, Until time.Time
}

// good says whether a pass is a session that has not ended.
func (d *Desk) good(p *Pass, now time.Time) bool {
	return p.Code == nil && now.Before(p.Until) && now.Sub(p.Used) < d.Idle
}

// Session gives the session of a token. CodeSignedOut where it has ended or never was.
func (d *Desk) Session(ctx context.Context, token string) (*Session, error) {
	now := d.Now()
	p, err := d.store.Pass(ctx, idOf(token))
	who, here := d.shop.Colleague(p.Person)
	good := err == nil && here && d.good(&p, now)
	if good && now.Sub(p.Used) >= usedEvery {
		p, err = d.store.UsePass(ctx, p.ID, now)
	}
	switch {
	case err != nil && bot.CodeOf(err) != bot.CodeNotFound:
		return nil, err
	case err != nil, !good:
		return nil, &bot.Error{Code: bot.CodeSignedOut, Text: "nobody is signed in here"}
	}
	return &Session{p.ID, who, p.Device, p.Made, p.Used, p.Until}, nil
}

// Sessions lists where a person is signed in, the newest first.
func (d *Desk) Sessions(ctx context.Context, person string) ([]Session, error) {
	passes, err := d.store.PassesOf(ctx, person)
	if err != nil {
		return nil, err
	}
	who, _ := d.shop.Colleague(person)
	var out []Session
	for i := range passes {
		if p := &passes[i]; d.good(p, d.Now()) {
			out = append(out, Session{p.ID, who, p.Device, p.Made, p.Used, p.Until})
		}
	}
	return out, nil
}

// End signs a person out of one of his sessions, by its id; of another's it knows
// nothing. CodeNotFound.
func (d *Desk) End(ctx context.Context, person, session string) error {
	p, err := d.store.Pass(ctx, session)
	if err != nil {
		return err
	}
	if p.Person != person || p.Code != nil {
		return &bot.Error{Code: bot.CodeNotFound, Text: "there is no such session"}
	}
	return d.store.DropPass(ctx, session)
}

// EndAll signs a person out everywhere.
func (d *Desk) EndAll(ctx context.Context, person string) error {
	passes, err := d.store.PassesOf(ctx, person)
	if err != nil {
		return err
	}
	var errs []error
	for i := range passes {
		if err := d.store.DropPass(ctx, passes[i].ID); err != nil && bot.CodeOf(err) != bot.CodeNotFound {
			errs = append(errs, err)
		}
	}
	return errors.Join(errs...)
}
