package main

import (
	"context"
	"sync"

	"proveout/bot/postgres"
)

// databases are those that are open, each once, however many shops are kept in it.
type databases struct {
	mu sync.Mutex
	by map[string]*opening // by address
}

// opening is a database that is open, or being opened by the first who needs it: who waits
// for one that does not answer keeps nobody from another.
type opening struct {
	mu   sync.Mutex
	open *postgres.Database
}

// at opens the database at an address where it is not open yet.
func (d *databases) at(ctx context.Context, address string) (*postgres.Database, error) {
	d.mu.Lock()
	if d.by == nil {
		d.by = map[string]*opening{}
	}
	at := d.by[address]
	if at == nil {
		at = &opening{}
		d.by[address] = at
	}
	d.mu.Unlock()
	at.mu.Lock()
	defer at.mu.Unlock()
	if at.open == nil {
		var err error
		if at.open, err = postgres.Open(ctx, address); err != nil {
			return nil, err
		}
	}
	return at.open, nil
}

// close closes them all, when nobody opens one any more.
func (d *databases) close() {
	for _, at := range d.by {
		if at.open != nil {
			at.open.Close()
		}
	}
}

// shop opens the record of a shop by its address.
func (d *databases) shop(ctx context.Context, at string, why purpose) (*postgres.Store, error) {
	address, shop, err := shopIn(at)
	if err != nil {
		return nil, err
	}
	database, err := d.at(ctx, address)
	if err != nil {
		return nil, err
	}
	switch why {
	case toServe:
		return database.Join(ctx, shop)
	case toChange:
		return database.Own(ctx, shop)
	default:
		return database.Shop(shop), nil
	}
}
