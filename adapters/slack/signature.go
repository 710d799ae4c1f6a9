package slack

import (
	"crypto/hmac"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"net/http"
	"strconv"
	"time"
)

// window is how far a request's timestamp may lie from now, either way.
const window = 5 * time.Minute

// verify checks that a request is Slack's: "v0=" and the hex HMAC-SHA-256, keyed with
// the signing secret, of "v0:", the timestamp, ":" and the body. An old timestamp is
// refused, so that a request caught on the way cannot be played again. Source:
// Slack, "Verifying requests from Slack". The library's verifier reads the system's
// clock; this one is handed the time.
func verify(h http.Header, body []byte, secret string, now time.Time) error {
	stamp := h.Get("X-Slack-Request-Timestamp")
	at, err := strconv.ParseInt(stamp, 10, 64)
	if err != nil {
		return errors.New("checking a signature: there is no timestamp")
	}
	if d := now.Sub(time.Unix(at, 0)).Abs(); d > window {
		return fmt.Errorf("checking a signature: the timestamp is %v off; set this machine's clock if it is Slack's request", d.Round(time.Second))
	}
	mac := hmac.New(sha256.New, []byte(secret))
	fmt.Fprintf(mac, "v0:%s:", stamp)
	mac.Write(body)
	if !hmac.Equal([]byte("v0="+hex.EncodeToString(mac.Sum(nil))), []byte(h.Get("X-Slack-Signature"))) {
		return errors.New("checking a signature: it does not fit; compare the signing secret with the app's")
	}
	return nil
}
