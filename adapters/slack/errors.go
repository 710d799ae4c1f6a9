package slack

import (
	"context"
	"errors"
	"net/http"
	"regexp"
	"slices"
	"strings"
	"time"

	"github.com/slack-go/slack"

	"proveout/bot"
)

// authAgain is how long to wait with a message while Slack refuses our token: the
// message is well, and somebody must mend the token.
const authAgain = 5 * time.Minute

// The errors of Slack's methods by what can be done about them. Source: the lists in
// the reference of auth.test and chat.postMessage.
var (
	authErrors = []string{"invalid_auth", "not_authed", "account_inactive", "token_revoked", "token_expired", "missing_scope", "org_login_required"}
	goneErrors = []string{"channel_not_found", "not_in_channel", "is_archived", "user_not_found", "messages_tab_disabled", "restricted_action"}
	longErrors = []string{"msg_too_long", "msg_blocks_too_long"}
	busyErrors = []string{
		"ratelimited", "rate_limited", "internal_error", "fatal_error", "service_unavailable", "request_timeout",
		"team_added_to_org", "message_limit_exceeded", "accesslimited",
	}
	blockErrors = []string{"invalid_blocks", "invalid_blocks_format", "msg_blocks_too_long"}
)

// code is the word by which Slack names an error of its own.
func code(err error) string {
	if e, ok := errors.AsType[slack.SlackErrorResponse](err); ok {
		return e.Err
	}
	return ""
}

// refused reports whether Slack does not take our token.
func refused(err error) bool { return slices.Contains(authErrors, code(err)) }

// unsure reports whether a message may have been delivered although its sending
// failed: all that is known is that no answer came, or none that can be read.
func unsure(err error) bool {
	if _, ok := errors.AsType[*slack.RateLimitedError](err); ok || err == nil {
		return false
	}
	if e, ok := errors.AsType[slack.StatusCodeError](err); ok {
		return e.Code >= http.StatusInternalServerError
	}
	c := code(err)
	return c == "" || c == "internal_error" || c == "fatal_error" || c == "request_timeout" || c == "service_unavailable"
}

// failed says of a message not delivered whether to try again, and when.
func (a *Adapter) failed(err error) error {
	d := &bot.DeliveryError{Err: a.scrub(err)}
	status, isStatus := errors.AsType[slack.StatusCodeError](err)
	limited, isLimited := errors.AsType[*slack.RateLimitedError](err)
	switch c := code(err); {
	case isLimited:
		d.Retry, d.After, d.Reason = true, limited.RetryAfter, "rate-limited"
	case isStatus && status.Code == http.StatusTooManyRequests:
		d.Retry, d.Reason = true, "rate-limited"
	case isStatus && status.Code >= http.StatusInternalServerError:
		d.Retry, d.Reason = true, "server"
	case isStatus:
		d.Reason = "rejected"
	case slices.Contains(busyErrors, c):
		d.Retry, d.Reason = true, "server"
	case slices.Contains(authErrors, c):
		d.Retry, d.After, d.Reason = true, authAgain, "auth"
	case slices.Contains(goneErrors, c):
		d.Reason = "unreachable"
	case slices.Contains(longErrors, c):
		d.Reason = "too-long"
	case c != "":
		d.Reason = "rejected"
	case errors.Is(err, context.Canceled), errors.Is(err, context.DeadlineExceeded):
		d.Retry, d.Reason = true, "stopped"
	default:
		d.Retry, d.Reason = true, "network"
	}
	return d
}

// ticket matches what lets a holder into a socket.
var ticket = regexp.MustCompile(`((?:ticket|token|app_id)=)[^&\s"]+`)

// scrubbed is an error told without the secrets in it. What lay beneath is not
// unwrapped, for it would tell them.
type scrubbed struct {
	text string
	is   error // the context's error, if it is one
}

func (e *scrubbed) Error() string { return e.text }

func (e *scrubbed) Unwrap() error { return e.is }

// scrub tells an error without any of our secrets, nor a socket's ticket.
func (a *Adapter) scrub(err error) error {
	if err == nil {
		return nil
	}
	text := ticket.ReplaceAllString(err.Error(), "${1}…")
	for _, secret := range []string{a.o.BotToken, a.o.AppToken, a.o.SigningSecret} {
		if secret != "" {
			text = strings.ReplaceAll(text, secret, "…")
		}
	}
	e := &scrubbed{text: text}
	for _, known := range []error{context.Canceled, context.DeadlineExceeded} {
		if errors.Is(err, known) {
			e.is = known
		}
	}
	return e
}
