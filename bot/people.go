package bot

import (
	"cmp"
	"maps"
	"slices"
	"sync"
	"time"
)

// people finds the shop's people.
type people struct {
	by       map[string]*Person // by id
	identity map[Key]*Person    // by channel and identity in it
	sorted   []*Person
}

func newPeople(c Config) people {
	p := people{by: map[string]*Person{}, identity: map[Key]*Person{}}
	for _, id := range sortedKeys(c.People) {
		one := *c.People[id]
		one.ID = id
		if one.Name == "" {
			one.Name = id
		}
		p.by[id] = &one
		p.sorted = append(p.sorted, &one)
		one.Identities = maps.Clone(one.Identities)
		delete(one.Identities, Web) // everybody has his id there, and nothing is sent there
		for channel, name := range one.Identities {
			p.identity[Key{channel, name}] = &one
		}
	}
	return p
}

// is finds who an identity in a channel is, or nil.
func (p *people) is(channel, identity string) *Person {
	if channel == Web {
		return p.by[identity]
	}
	return p.identity[Key{channel, identity}]
}

// name is what a person is called; someone who has left by his id.
func (p *people) name(id string) string {
	if one := p.by[id]; one != nil {
		return one.Name
	}
	return cmp.Or(id, "somebody")
}

// with lists the people of a role.
func (p *people) with(role Role) []*Person {
	var out []*Person
	for _, one := range p.sorted {
		if one.Role == role {
			out = append(out, one)
		}
	}
	return out
}

// strangerPause is how long a stranger who was answered is not answered again, and
// strangersKnown how many are remembered.
const (
	strangerPause  = 24 * time.Hour
	strangersKnown = 10_000
)

// strangers remembers whom it was said to that he is not known.
type strangers struct {
	mu   sync.Mutex
	told map[Key]time.Time
}

// tell says whether a stranger is to be answered now.
func (s *strangers) tell(who Key, now time.Time) bool {
	s.mu.Lock()
	defer s.mu.Unlock()
	if at, ok := s.told[who]; ok && now.Sub(at) < strangerPause {
		return false
	}
	if s.told == nil || len(s.told) >= strangersKnown {
		maps.DeleteFunc(s.told, func(_ Key, at time.Time) bool { return now.Sub(at) >= strangerPause })
		if len(s.told) >= strangersKnown {
			return false // a flood is not answered
		}
		if s.told == nil {
			s.told = map[Key]time.Time{}
		}
	}
	s.told[who] = now
	return true
}

// desks are the people's own streams: what waits for its job to be named, what did not
// arrive, and who wants no messages.
type desks struct {
	mu   sync.Mutex
	by   map[string]desk
	none map[Key]bool // the identities nothing is sent to
}

// desk is a person's messages held, where his stream stands, and what he did last
// anywhere.
type desk struct {
	seq  int64
	held []Event
	dead []Undelivered
	last Mark
}

// stopped says whether an identity in a channel wants no messages.
func (d *desks) stopped(who Key) bool {
	d.mu.Lock()
	defer d.mu.Unlock()
	return d.none[who]
}

// undelivered lists what was for people, about no job, and did not arrive.
func (d *desks) undelivered() []Undelivered {
	d.mu.Lock()
	defer d.mu.Unlock()
	var out []Undelivered
	for _, at := range d.by {
		out = append(out, at.dead...)
	}
	return out
}

func (d *desks) of(person string) desk {
	d.mu.Lock()
	defer d.mu.Unlock()
	return d.by[person]
}

// did notes what a person did last.
func (d *desks) did(person string, last Mark) {
	d.mu.Lock()
	defer d.mu.Unlock()
	d.prepare()
	at := d.by[person]
	at.last = last
	d.by[person] = at
}

// prepare makes the maps. The lock is held.
func (d *desks) prepare() {
	if d.by == nil {
		d.by, d.none = map[string]desk{}, map[Key]bool{}
	}
}

// fold takes a person's desk through events; those it has been through change nothing.
func (d *desks) fold(person string, events []Event) {
	d.mu.Lock()
	defer d.mu.Unlock()
	d.prepare()
	at := d.by[person]
	for _, e := range events {
		if e.Seq <= at.seq {
			continue
		}
		at.seq = e.Seq
		switch e.Kind {
		case EventHeld:
			at.held = append(slices.Clone(at.held), e)
		case EventPlaced:
			at.held = nil
		case EventDead, EventArrived:
			at.dead = failing(at.dead, &e)
		case EventConsent:
			if who := (Key{e.Place.Channel, e.Place.Conversation}); e.Verdict != Help {
				d.none[who] = e.Verdict == Stop
			}
		default:
		}
	}
	d.by[person] = at
}

func sortedKeys[V any](m map[string]V) []string { return slices.Sorted(maps.Keys(m)) }
