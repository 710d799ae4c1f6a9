package bot

import (
	"fmt"
	"time"
)

// QuietHours are when nobody is sent what he has not just asked for, in the shop's time:
// alarms and notices wait for their end. A hazard does not wait, nor a wish for a
// senior, nor an answer, a proposal or a ruling: somebody stands there.
type QuietHours struct {
	// From and To are times of day as 21:00; both empty is never.
	From string `yaml:"from"`
	To   string `yaml:"to"`
}

// span is the hours in minutes of the day.
func (q QuietHours) span() (from, to int, err error) {
	if q == (QuietHours{}) {
		return 0, 0, nil
	}
	for _, d := range []struct {
		at   *int
		text string
	}{{&from, q.From}, {&to, q.To}} {
		t, err := time.Parse("15:04", d.text)
		if err != nil {
			return 0, 0, fmt.Errorf("%q is no time of day", d.text)
		}
		*d.at = t.Hour()*60 + t.Minute()
	}
	return from, to, nil
}

// within says whether a moment lies in the quiet hours.
func (q QuietHours) within(t time.Time) bool {
	from, to, err := q.span()
	switch at := t.Hour()*60 + t.Minute(); {
	case err != nil:
		return false
	case from <= to:
		return from <= at && at < to
	default: // over midnight
		return from <= at || at < to
	}
}

// waits says whether a message has to wait for the quiet hours to end. What is written
// in a room wakes nobody.
func (o *outbox) waits(m *Outbound) bool {
	return m.Notice && (m.Conversation == "" || m.Channel == Texts) && o.config.Policy.QuietHours.within(o.Now().In(o.zone))
}

// release queues what waited for the quiet hours to end.
func (o *outbox) release() {
	o.mu.Lock()
	defer o.mu.Unlock()
	waiting := o.parked
	o.parked = nil
	for i := range waiting {
		o.queue(waiting[i])
	}
}
