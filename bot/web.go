package bot

import (
	"context"
	"regexp"
)

// Web is the channel of the shop's own pages. A person's identity in it is his id, a
// place in it his own, and its threads are jobs: by their numbers, or, for one opened
// from a page, by the name the page gave it. Nothing is sent to it: pages are made of
// the record, and whoever follows a job is told that it has changed.
const Web = "web"

// OIDC is where people have the names a provider of OpenID Connect vouches for: their
// subject there, or an address it has verified.
const OIDC = "oidc"

var jobNumber = regexp.MustCompile(`^J-\d{4,9}$`)

// routeWeb finds the job a page is about, which it always names, and says why it may
// not do what it wants: somebody sits at the page and is told at once.
func (w *work) routeWeb(ctx context.Context) (func(context.Context) error, error) {
	id, err := w.jobAt(ctx, w.here())
	if err != nil {
		return nil, err
	}
	if id == "" {
		if w.in.Thread == "" {
			return nil, &Error{Code: CodeInvalid, Text: "a page names the job it is about"}
		}
		if !May(w.person.Role, ActOpen) {
			return nil, w.forbidden()
		}
		return w.open, nil
	}
	if err := w.takeSeen(ctx, id); err != nil {
		return nil, err
	}
	return w.said, nil
}

// takeSeen takes a job, open or closed, for one who may see it.
func (w *work) takeSeen(ctx context.Context, id string) error {
	if ok, err := w.take(ctx, id); err != nil || !ok {
		if err == nil {
			err = &Error{Code: CodeNotFound, Text: "there is no job " + id}
		}
		return err
	}
	if !maySee(w.person, w.job) {
		return w.forbidden()
	}
	return nil
}

func (w *work) forbidden() error {
	return &Error{Code: CodeForbidden, Text: w.toSender("page-not-yours")}
}

// JobIn names the job a person has opened from a page under the page's own name for it;
// empty while there is none.
func (s *Service) JobIn(ctx context.Context, viewer, thread string) (string, error) {
	p, err := s.viewer(viewer)
	if err != nil {
		return "", err
	}
	return s.jobAt(ctx, Place{Web, p.ID, thread})
}
