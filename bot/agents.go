package bot

import (
	"slices"
	"strings"
	"sync"

	"proveout/dialog"
	"proveout/knowledge"
)

// Agents are shared by shops that know the same, each made once: what an agent knows is
// the larger part of what a shop holds in memory. They may be shared between goroutines;
// the zero value is ready. What was made is kept, so knowledge that is made anew at each
// start of a shop does not belong here.
type Agents struct {
	mu   sync.Mutex
	made map[knows]known
}

// knows is what tells one agent from another.
type knows struct {
	base      *knowledge.Base
	equipment string
	all       bool
	faults    string // that need a senior besides
}

// known is an agent with what it knows, and how the service itself is spoken to.
type known struct {
	agent    *dialog.Agent
	commands commands
	base     *knowledge.Base
	version  string
}

// Make makes the agent of a shop where there is none like it yet. The error says what in
// the knowledge keeps it from being made.
func (a *Agents) Make(base *knowledge.Base, c Config) error {
	_, err := a.of(base, c.withDefaults())
	return err
}

// of is the agent of a shop; nil Agents share none.
func (a *Agents) of(base *knowledge.Base, c Config) (known, error) {
	if a == nil {
		return newKnown(base, c)
	}
	a.mu.Lock()
	defer a.mu.Unlock()
	more := c.Policy.Confirm
	k := knows{base, c.Equipment, more.All, strings.Join(slices.Sorted(slices.Values(more.Faults)), "\n")}
	if found, ok := a.made[k]; ok {
		return found, nil
	}
	made, err := newKnown(base, c)
	if err != nil {
		return known{}, err
	}
	if a.made == nil {
		a.made = map[knows]known{}
	}
	a.made[k] = made
	return made, nil
}

func newKnown(base *knowledge.Base, c Config) (known, error) {
	base, version := tightened(base, c.Policy.Confirm)
	agent, err := dialog.New(base, c.Equipment)
	if err != nil {
		return known{}, err
	}
	commands, err := newCommands(base)
	return known{agent, commands, base, version}, err
}
