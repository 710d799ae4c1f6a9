package main

import (
	"context"
	"errors"
	"io"
	"net/url"
	"strings"

	"proveout/bot"
	"proveout/bot/postgres"
	"proveout/bot/signin"
	"proveout/bot/sqlite"
)

// record is a shop's record, wherever it is kept.
type record interface {
	bot.Store
	signin.Store
	Jobs(ctx context.Context) ([]string, error)
	Closings(ctx context.Context) ([]bot.Event, error)
	ForgetJob(ctx context.Context, id string) error
	ForgetPerson(ctx context.Context, person string) error
	io.Closer
}

// purpose is what a record is opened for.
type purpose int

const (
	toLook   purpose = iota // beside a service that may be writing to it
	toChange                // alone, without services
	toServe                 // beside the shop's other services, where it is in a database; else alone
)

// openRecord opens the record at a path, or at the address of a database for it alone.
func openRecord(ctx context.Context, at string, why purpose) (record, error) {
	if !inDatabase(at) {
		return sqlite.Open(ctx, at, sqlite.Options{ReadOnly: why == toLook})
	}
	d := &databases{}
	s, err := d.shop(ctx, at, why)
	if err != nil {
		d.close()
		return nil, err
	}
	return &inPostgres{s, d}, nil
}

// inPostgres is a shop's record with the database it alone uses.
type inPostgres struct {
	*postgres.Store
	databases *databases
}

// Close lets the shop go, and the database.
func (r *inPostgres) Close() error {
	err := r.Store.Close()
	r.databases.close()
	return err
}

// inDatabase says whether a record is named by an address and not by a path.
func inDatabase(at string) bool {
	return strings.HasPrefix(at, "postgres://") || strings.HasPrefix(at, "postgresql://")
}

// shopIn splits a record's address into that of the database and the shop in it.
func shopIn(at string) (address, shop string, err error) {
	const mend = "write it as postgres://user@host/database#shop"
	u, err := url.Parse(at)
	switch {
	case err != nil: // it may quote what it could not read, a password too
		return "", "", errors.New("the record's address cannot be read; " + mend)
	case u.Fragment == "":
		return "", "", errors.New("the record's address names no shop; " + mend)
	}
	if _, secret := u.User.Password(); secret || u.Query().Has("password") {
		return "", "", errors.New("a password stands in the record's address; take it out, and give it in the environment as PGPASSWORD or in the file PGPASSFILE names")
	}
	shop, u.Fragment = u.Fragment, ""
	return u.String(), shop, nil
}
