package web

import (
	"crypto"
	"crypto/rand"
	"crypto/rsa"
	"crypto/sha256"
	"encoding/base64"
	"encoding/json"
	"net/http"
	"net/http/httptest"
	"net/url"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
)

// provider is an OpenID Connect provider that signs everybody in as one person, once
// for each code, and checks the proof key (RFC 7636).
type provider struct {
	*httptest.Server
	key    *rsa.PrivateKey
	mu     sync.Mutex
	claims map[string]any
	asked  url.Values // by the browser
}

func openProvider(t *testing.T) *provider {
	t.Helper()
	key, err := rsa.GenerateKey(rand.Reader, 2048)
	require.NoError(t, err)
	p := &provider{key: key}
	mux := http.NewServeMux()
	mux.HandleFunc("GET /.well-known/openid-configuration", func(w http.ResponseWriter, _ *http.Request) {
		p.answer(w, map[string]any{
			"issuer": p.URL, "authorization_endpoint": p.URL + "/authorize", "token_endpoint": p.URL + "/token", "jwks_uri": p.URL + "/keys",
			"id_token_signing_alg_values_supported": []string{"RS256"},
		})
	})
	mux.HandleFunc("GET /keys", func(w http.ResponseWriter, _ *http.Request) {
		b64 := base64.RawURLEncoding
		p.answer(w, map[string]any{"keys": []any{map[string]any{
			"kty": "RSA", "alg": "RS256", "use": "sig", "kid": "1", "n": b64.EncodeToString(key.N.Bytes()), "e": "AQAB",
		}}})
	})
	mux.HandleFunc("POST /token", func(w http.ResponseWriter, r *http.Request) {
		p.mu.Lock()
		defer p.mu.Unlock()
		sum := sha256.Sum256([]byte(r.FormValue("code_verifier")))
		if r.FormValue("code") != "the-code" || base64.RawURLEncoding.EncodeToString(sum[:]) != p.asked.Get("code_challenge") {
			http.Error(w, `{"error": "invalid_grant"}`, http.StatusBadRequest)
			return
		}
		p.answer(w, map[string]any{"access_token": "a", "token_type": "Bearer", "id_token": p.sign(p.claims)})
	})
	p.Server = httptest.NewServer(mux)
	t.Cleanup(p.Close)
	return p
}

func (*provider) answer(w http.ResponseWriter, v any) {
	w.Header().Set("Content-Type", "application/json")
	_ = json.NewEncoder(w).Encode(v)
}

func (p *provider) sign(claims map[string]any) string {
	part := func(v any) string {
		b, _ := json.Marshal(v)
		return base64.RawURLEncoding.EncodeToString(b)
	}
	signed := part(map[string]string{"alg": "RS256", "kid": "1"}) + "." + part(claims)
	sum := sha256.Sum256([]byte(signed))
	sig, _ := rsa.SignPKCS1v15(rand.Reader, p.key, crypto.SHA256, sum[:])
	return signed + "." + base64.RawURLEncoding.EncodeToString(sig)
}

// authorize takes what the browser brings and gives the state it takes back.
func (p *provider) authorize(t *testing.T, to string) string {
	t.Helper()
	u, err := url.Parse(to)
	require.NoError(t, err)
	p.mu.Lock()
	defer p.mu.Unlock()
	p.asked = u.Query()
	require.Equal(t, "S256", p.asked.Get("code_challenge_method"))
	p.claims = map[string]any{
		"iss": p.URL, "aud": "larkmoor", "sub": "1234", "exp": time.Now().Add(time.Minute).Unix(), "iat": time.Now().Unix(),
		"nonce": p.asked.Get("nonce"), "email": "sam@larkmoor.example", "email_verified": true,
	}
	return p.asked.Get("state")
}

func TestOneSignsInAtTheCompany(t *testing.T) {
	t.Parallel()
	p := openProvider(t)
	c := &company{Company: Company{Issuer: p.URL, Client: "larkmoor", Secret: "hush"}, back: "http://127.0.0.1/sign-in/company/back"}
	to, secrets, err := c.begin(t.Context())
	require.NoError(t, err)
	state := p.authorize(t, to)
	who, err := c.finish(t.Context(), "the-code", state, secrets)
	require.NoError(t, err)
	require.Equal(t, []string{"1234", "sam@larkmoor.example"}, who)
}

func TestAnAnswerThatDoesNotFitSignsNobodyIn(t *testing.T) {
	t.Parallel()
	p := openProvider(t)
	c := &company{Company: Company{Issuer: p.URL, Client: "larkmoor", Secret: "hush"}, back: "http://127.0.0.1/sign-in/company/back"}
	for name, spoil := range map[string]func(code, state, secrets *string){
		"another browser's state": func(_, state, _ *string) { *state = "x" + *state },
		"no secrets":              func(_, _, secrets *string) { *secrets = "" },
		"another code":            func(code, _, _ *string) { *code = "other" },
		"another proof key":       func(_, _, secrets *string) { *secrets += "x" },
		"another nonce":           func(_, _, _ *string) { p.claims["nonce"] = "other" },
		"another shop's token":    func(_, _, _ *string) { p.claims["aud"] = "elsewhere" },
		"another issuer":          func(_, _, _ *string) { p.claims["iss"] = "http://elsewhere.example" },
		"an old token":            func(_, _, _ *string) { p.claims["exp"] = time.Now().Add(-time.Hour).Unix() },
	} {
		to, secrets, err := c.begin(t.Context())
		require.NoError(t, err, name)
		code, state := "the-code", p.authorize(t, to)
		spoil(&code, &state, &secrets)
		who, err := c.finish(t.Context(), code, state, secrets)
		require.Error(t, err, name)
		require.Empty(t, who, name)
	}
}

func TestAnAddressNobodyHasVerifiedSaysNothing(t *testing.T) {
	t.Parallel()
	p := openProvider(t)
	c := &company{Company: Company{Issuer: p.URL, Client: "larkmoor", Secret: "hush"}, back: "http://127.0.0.1/sign-in/company/back"}
	to, secrets, err := c.begin(t.Context())
	require.NoError(t, err)
	state := p.authorize(t, to)
	p.claims["email_verified"] = false
	who, err := c.finish(t.Context(), "the-code", state, secrets)
	require.NoError(t, err)
	require.Equal(t, []string{"1234"}, who)
}

func TestAProviderThatIsDownIsFoundLater(t *testing.T) {
	t.Parallel()
	p := openProvider(t)
	c := &company{Company: Company{Issuer: "http://127.0.0.1:1", Client: "larkmoor"}}
	_, _, err := c.begin(t.Context())
	require.Error(t, err)
	c.Issuer = p.URL
	_, _, err = c.begin(t.Context())
	require.NoError(t, err)
}
