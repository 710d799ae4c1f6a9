package dialog

import (
	"sync"

	lru "github.com/hashicorp/golang-lru/v2"

	"proveout/rules"
)

// How many compiled units are remembered, a megabyte each, and how many of them under the
// weather told, which is soon worked out again: units differ in few facts, houses and
// days in many, and must not drive the units out.
const (
	unitsKept    = 128
	weathersKept = 64
)

// models are compiled units by the facts they were compiled for, those longest unused
// forgotten. They may be shared between goroutines.
type models struct {
	by *lru.Cache[string, *compiled]
}

// compiled is a model that is made once, by the first who asks for it; others wait for
// that one alone. It is nil where it cannot be made.
type compiled struct {
	once  sync.Once
	model *rules.Model
}

func newModels(most int) models {
	by, _ := lru.New[string, *compiled](most) // which fails for none alone
	return models{by}
}

// get is the model of a key, made where it is not there; otherwise stands where it cannot
// be made.
func (m models) get(key string, otherwise *rules.Model, build func() (*rules.Model, error)) *rules.Model {
	c, ok := m.by.Get(key)
	if !ok {
		c = &compiled{}
		if there, ok, _ := m.by.PeekOrAdd(key, c); ok { // somebody else was first
			c = there
		}
	}
	c.once.Do(func() {
		if made, err := build(); err == nil {
			c.model = made
		}
	})
	if c.model == nil {
		return otherwise
	}
	return c.model
}
