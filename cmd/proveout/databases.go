package main

import (
	"context"
	"sync"

	"proveout/bot/postgres"
)

// databases are those that are open, each once, however many shops are kept in it.
type databases struct {
	mu   sync.Mutex
	open map[string]*postgres.Database // by address
}

// at opens the database at an address where it is not open yet.
func (d *databases) at(ctx context.Context, address string) (*postgres.Database, error) {
	d.mu.Lock()
	defer d.mu.Unlock()
	if found := d.open[address]; found != nil {
		return found, nil
	}
	opened, err := postgres.Open(ctx, address)
	if err != nil {
		return nil, err
	}
	if d.open == nil {
		d.open = map[string]*postgres.Database{}
	}
	d.open[address] = opened
	return opened, nil
}

func (d *databases) close() {
	d.mu.Lock()
	defer d.mu.Unlock()
	for _, opened := range d.open {
		opened.Close()
	}
	clear(d.open)
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
