package recordlaws

import (
	"context"
	"errors"
	"slices"
	"sync"
	"time"

	"proveout/bot"
	"proveout/bot/signin"
)

// PassLaw is a promise every store of passes keeps. Check wants an empty one.
type PassLaw struct {
	Name  string
	Check func(ctx context.Context, s signin.Store) error
}

// PassLaws lists them all.
func PassLaws() []PassLaw {
	return []PassLaw{
		{"a pass is read back as it was put", passReadBack},
		{"each use of a pass has its own number", passUses},
		{"a pass is taken away once", passDropped},
		{"a person's passes are listed, newest first, and nobody else's", passesListed},
		{"what was over when a pass is made is forgotten", passesOver},
	}
}

func pass(id, person string, made time.Time) signin.Pass {
	return signin.Pass{ID: id, Person: person, Device: "a browser", Made: made, Used: made, Until: made.Add(time.Hour)}
}

func passReadBack(ctx context.Context, s signin.Store) error {
	code := pass("one", "ana", noon())
	code.Code, code.Salt = []byte{0, 1, 255}, []byte{7}
	session := pass("two", "ana", noon())
	if err := errors.Join(s.PutPass(ctx, code), s.PutPass(ctx, session)); err != nil {
		return err
	}
	if err := s.PutPass(ctx, session); err == nil {
		return errors.New("a pass was put twice")
	}
	gotCode, err := s.Pass(ctx, "one")
	if err != nil {
		return err
	}
	gotSession, err := s.Pass(ctx, "two")
	if err != nil {
		return err
	}
	_, err = s.Pass(ctx, "three")
	return errors.Join(same("the code", gotCode, code), same("the session", gotSession, session), wants(err, bot.CodeNotFound))
}

func passUses(ctx context.Context, s signin.Store) error {
	if err := s.PutPass(ctx, pass("one", "ana", noon())); err != nil {
		return err
	}
	const users = 20
	var wg sync.WaitGroup
	got, errs := make([]int, users), make([]error, users)
	later := noon().Add(time.Minute)
	for i := range users {
		wg.Go(func() {
			p, err := s.UsePass(ctx, "one", later)
			got[i], errs[i] = p.Uses, err
		})
	}
	wg.Wait()
	if err := errors.Join(errs...); err != nil {
		return err
	}
	slices.Sort(got)
	for i := range got {
		if err := same("a use's number", got[i], i+1); err != nil {
			return err
		}
	}
	p, err := s.Pass(ctx, "one")
	if err := errors.Join(err, same("the last use", p.Used, later)); err != nil {
		return err
	}
	_, err = s.UsePass(ctx, "two", later)
	return wants(err, bot.CodeNotFound)
}

func passDropped(ctx context.Context, s signin.Store) error {
	if err := s.PutPass(ctx, pass("one", "ana", noon())); err != nil {
		return err
	}
	const users = 8
	var wg sync.WaitGroup
	errs := make([]error, users)
	for i := range users {
		wg.Go(func() { errs[i] = s.DropPass(ctx, "one") })
	}
	wg.Wait()
	dropped := 0
	for _, err := range errs {
		if err == nil {
			dropped++
		} else if err := wants(err, bot.CodeNotFound); err != nil {
			return err
		}
	}
	_, err := s.Pass(ctx, "one")
	return errors.Join(same("how many took it away", dropped, 1), wants(err, bot.CodeNotFound))
}

func passesListed(ctx context.Context, s signin.Store) error {
	if err := errors.Join(s.PutPass(ctx, pass("old", "ana", noon())), s.PutPass(ctx, pass("his", "ben", noon())), s.PutPass(ctx, pass("new", "ana", noon().Add(time.Minute)))); err != nil {
		return err
	}
	var ids []string
	got, err := s.PassesOf(ctx, "ana")
	for i := range got {
		ids = append(ids, got[i].ID)
	}
	return errors.Join(err, same("the passes", ids, []string{"new", "old"}))
}

func passesOver(ctx context.Context, s signin.Store) error {
	if err := errors.Join(s.PutPass(ctx, pass("one", "ana", noon())), s.PutPass(ctx, pass("two", "ana", noon().Add(2*time.Hour)))); err != nil {
		return err
	}
	_, err := s.Pass(ctx, "one")
	_, still := s.Pass(ctx, "two")
	return errors.Join(wants(err, bot.CodeNotFound), still)
}
