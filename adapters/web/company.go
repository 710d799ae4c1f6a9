package web

import (
	"context"
	"crypto/subtle"
	"errors"
	"fmt"
	"net/http"
	"net/url"
	"strings"
	"sync"
	"time"

	"github.com/coreos/go-oidc/v3/oidc"
	"golang.org/x/oauth2"

	"proveout/bot"
)

// Provider is the channel people's identities at the company's sign-in stand under: the
// subject, or the address the provider has verified.
const Provider = bot.OIDC

// Company is the shop's own sign-in, by OpenID Connect; the zero value is none.
type Company struct {
	// Issuer is the provider's address, Client and Secret what it knows this shop by.
	Issuer, Client, Secret string
}

// company carries a sign-in out: authorization code with PKCE (RFC 7636), state and
// nonce. It finds the provider at the first sign-in, so that one that is down keeps
// nobody from the other way in.
type company struct {
	Company
	back string // where the provider sends the browser
	mu   sync.Mutex
	at   *oidc.Provider
}

// patience bounds what the provider may take for an answer.
const patience = 10 * time.Second

func (c *company) provider(ctx context.Context) (*oidc.Provider, context.Context, error) {
	ctx = oidc.ClientContext(ctx, &http.Client{Timeout: patience})
	c.mu.Lock()
	defer c.mu.Unlock()
	if c.at == nil {
		// It keeps the context for the provider's keys, later on.
		at, err := oidc.NewProvider(context.WithoutCancel(ctx), c.Issuer)
		if err != nil {
			return nil, ctx, fmt.Errorf("finding the company's sign-in: %w", err)
		}
		c.at = at
	}
	return c.at, ctx, nil
}

func (c *company) client(at *oidc.Provider) oauth2.Config {
	return oauth2.Config{ClientID: c.Client, ClientSecret: c.Secret, Endpoint: at.Endpoint(), RedirectURL: c.back, Scopes: []string{oidc.ScopeOpenID, "email"}}
}

// begin gives where the browser is sent, and the secrets it keeps meanwhile.
func (c *company) begin(ctx context.Context) (to, secrets string, err error) {
	at, _, err := c.provider(ctx)
	if err != nil {
		return "", "", err
	}
	state, nonce, verifier := oauth2.GenerateVerifier(), oauth2.GenerateVerifier(), oauth2.GenerateVerifier()
	client := c.client(at)
	return client.AuthCodeURL(state, oidc.Nonce(nonce), oauth2.S256ChallengeOption(verifier)), state + "." + nonce + "." + verifier, nil
}

// errCompany is a sign-in that is not this browser's or not for this shop.
var errCompany = errors.New("signing in at the company: the answer does not fit what was asked")

// finish gives who the provider says has signed in: his subject and, where the
// provider has verified it, his address.
func (c *company) finish(ctx context.Context, code, state, secrets string) ([]string, error) {
	kept := strings.Split(secrets, ".")
	if len(kept) != 3 || subtle.ConstantTimeCompare([]byte(kept[0]), []byte(state)) != 1 {
		return nil, errCompany
	}
	at, ctx, err := c.provider(ctx)
	if err != nil {
		return nil, err
	}
	client := c.client(at)
	token, err := client.Exchange(ctx, code, oauth2.VerifierOption(kept[2]))
	if err != nil {
		return nil, fmt.Errorf("signing in at the company: %w", err)
	}
	raw, _ := token.Extra("id_token").(string)
	id, err := at.Verifier(&oidc.Config{ClientID: c.Client}).Verify(ctx, raw)
	if err != nil {
		return nil, fmt.Errorf("signing in at the company: %w", err)
	}
	if subtle.ConstantTimeCompare([]byte(id.Nonce), []byte(kept[1])) != 1 {
		return nil, errCompany
	}
	var claims struct {
		Email    string `json:"email"`
		Verified bool   `json:"email_verified"`
	}
	if err := id.Claims(&claims); err != nil {
		return nil, fmt.Errorf("signing in at the company: %w", err)
	}
	who := []string{id.Subject}
	if claims.Verified && claims.Email != "" {
		who = append(who, claims.Email)
	}
	return who, nil
}

// cutLast parts what follows the last point; nothing precedes where there is none.
func cutLast(s string) (before, after string) {
	at := strings.LastIndexByte(s, '.')
	after, err := url.QueryUnescape(s[at+1:])
	if at < 0 || err != nil {
		return "", ""
	}
	return s[:at], after
}
