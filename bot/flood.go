package bot

import (
	"context"
	"fmt"
	"sync"
	"time"

	"proveout/knowledge"
)

// Limits are how many messages a minute are taken from a channel; 0 is the default,
// negative no limit.
type Limits struct {
	// Sender is from one person of the shop.
	Sender int `yaml:"sender"`
	// Strangers is from all together whom nobody knows.
	Strangers int `yaml:"strangers"`
	// All is from everybody.
	All int `yaml:"all"`
}

// withDefaults fills in what was left out: for text messages, which anybody may send,
// more than people write and a gateway that was away delivers; for no other channel
// anything.
func (l Limits) withDefaults(channel string) Limits {
	if channel != Texts {
		return l
	}
	for _, d := range []struct {
		at   *int
		than int
	}{{&l.Sender, 60}, {&l.Strangers, 60}, {&l.All, 3000}} {
		if *d.at == 0 {
			*d.at = d.than
		}
	}
	return l
}

// calm is how long no flood must have been for one to be told of again.
const calm = time.Hour

// floods counts what comes in, by the minute.
type floods struct {
	mu     sync.Mutex
	minute int64
	taken  map[Key]int       // by channel and sender; no sender is everybody
	seen   map[Key]time.Time // when there was too much last
}

// stranger stands for all whom nobody knows, among the senders of a channel.
const stranger = "?"

// take counts a message of a sender, unless there are too many: then it says of whom
// (empty: of everybody), and whether that has just begun.
func (f *floods) take(l Limits, channel, sender string, now time.Time) (over bool, who string, began bool) {
	f.mu.Lock()
	defer f.mu.Unlock()
	if minute := now.Unix() / 60; f.taken == nil || minute != f.minute {
		f.minute, f.taken = minute, map[Key]int{}
	}
	most := l.Sender
	if sender == stranger {
		most = l.Strangers
	}
	for _, c := range []struct {
		who  string
		most int
	}{{sender, most}, {"", l.All}} {
		k := Key{channel, c.who}
		if c.most <= 0 || f.taken[k] < c.most {
			continue
		}
		if f.seen == nil {
			f.seen = map[Key]time.Time{}
		}
		began = now.Sub(f.seen[k]) >= calm
		f.seen[k] = now
		return true, c.who, began
	}
	f.taken[Key{channel, sender}]++
	f.taken[Key{channel, ""}]++
	return false, "", false
}

// floodChannel names the notices of floods.
const floodChannel = "flood"

// flooded says whether too much comes in for an event to be taken. What is too much of
// the shop's people is refused, for the gateway to deliver again: nothing is lost; of
// strangers it is dropped. The dispatchers are told when it begins.
func (s *Service) flooded(ctx context.Context, in Inbound, person *Person, now time.Time) (bool, error) {
	if in.Kind == Pressed {
		return false, nil
	}
	sender := stranger
	if person != nil {
		sender = person.ID
	}
	over, who, began := s.floods.take(s.config.Channels[in.Channel].Limits, in.Channel, sender, now)
	if !over {
		return false, nil
	}
	s.Metrics.flooded(in.Channel, person != nil)
	if began {
		if err := s.tellFlood(ctx, in.Channel, who, now); err != nil {
			return true, err
		}
	}
	if person == nil {
		return true, nil
	}
	return true, &Error{Code: CodeLimited, Text: "too many messages a minute came in on " + in.Channel + "; this one is to be delivered again later"}
}

func (s *Service) tellFlood(ctx context.Context, channel, who string, now time.Time) error {
	in := Inbound{Channel: floodChannel, ID: fmt.Sprintf("%s/%s/%d", channel, who, now.Unix())}
	return s.aside(ctx, in, "", nil, func(w *work) {
		w.notify(s.people.with(DispatcherRole), func(words *knowledge.Base) (string, []Button) {
			from := words.Phrases.Say("flood-all")
			switch who {
			case stranger:
				from = words.Phrases.Say("flood-strangers")
			case "":
			default:
				from = s.people.name(who)
			}
			return words.Phrases.Say("flood", "channel", channel, "from", from), nil
		})
	})
}
