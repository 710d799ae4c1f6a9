package bot

import (
	"context"
	"fmt"
	"strings"

	"proveout/dialog"
	"proveout/knowledge"
)

// bridged is the setting of a channel that names the channel with the room its jobs
// have their threads in; unbridged there says that they have none.
const (
	bridged   = "bridge"
	unbridged = "none"
)

// room is the shop's room for the jobs of a channel that has none of its own: the one
// its settings name, else the only other there is. A place without a conversation is
// none.
func (c *Config) room(channel string) Place {
	at := c.Channels[channel]
	if at.Conversation != "" || at.Settings[bridged] == unbridged {
		return Place{}
	}
	if named := at.Settings[bridged]; named != "" {
		return Place{Channel: named, Conversation: c.Channels[named].Conversation}
	}
	var found []Place
	for _, name := range sortedKeys(c.Channels) {
		if room := c.Channels[name].Conversation; room != "" {
			found = append(found, Place{Channel: name, Conversation: room})
		}
	}
	if len(found) != 1 {
		return Place{}
	}
	return found[0]
}

// thread is where the shop reads a job along: where it began, when that is a thread,
// else in its thread in the shop's room. Without a Thread it is not open yet; without a
// Conversation there is none.
func (s *Service) thread(j *Job) Place {
	if j.Home.shared() {
		return j.Home
	}
	room := s.config.room(j.Home.Channel)
	if j.Thread.Channel == room.Channel && j.Thread.Conversation == room.Conversation {
		return j.Thread
	}
	return room
}

// readers are the places a job is read at besides the one its event came from: its
// thread, and the technician's phone if somebody else spoke.
func (w *work) readers() []Place {
	here := w.answersAt()
	var out []Place
	if t := w.thread(w.job); t.Conversation != "" && t != here {
		out = append(out, t)
	}
	if home := w.job.Home; !home.shared() && home != here && (w.person == nil || w.person.ID != w.job.Technician) {
		out = append(out, home)
	}
	return out
}

// wordsAt is the knowledge as a place of the job is written to: the technician's in his
// language, the thread of a job that began elsewhere in the shop's.
func (w *work) wordsAt(p Place) *knowledge.Base {
	if p == w.job.Home {
		return w.agent.Words(w.talk.Language())
	}
	return w.agent.Words(w.config.Language)
}

// passOn shows what somebody said to those who read the job elsewhere, under his name.
func (w *work) passOn(text string) {
	for i := range w.in.Files {
		text = strings.TrimSpace(text + " [" + w.in.Files[i].Name + "]")
	}
	for _, p := range w.readers() {
		said := w.person.Name + ": " + text
		if w.late() {
			said = w.person.Name + " (" + w.moment(w.in.At) + "): " + text
		}
		if w.ambiguous(p) {
			said = w.job.ID + ", " + said
		}
		w.send(p, said).Quoted = true
	}
}

// ambiguous says whether what is said at a place does not show by itself which job it
// is about: where it opens a thread, and on the phone of a technician of several jobs.
func (w *work) ambiguous(p Place) bool {
	return !p.threaded() && (p != w.job.Home || len(w.table.of(w.job.Technician)) > 1)
}

// answerElsewhere gives an answer to those who read the job elsewhere, to each in his
// language.
func (w *work) answerElsewhere(reply *dialog.Reply) {
	for _, p := range w.readers() {
		r := w.retold(w.wordsAt(p), reply)
		if p == w.job.Home && w.ambiguous(p) { // what opens the thread has said it
			r = headed(r, w.job.ID+":")
		}
		m := w.send(p, r.Text)
		m.Reply, m.More = forDelivery(r), w.phrase(r.Language, "desk-rest")
	}
}

// everywhere says a phrase of the desk where it was asked for and wherever else the
// job is read.
func (w *work) everywhere(id string, pairs ...string) {
	for _, p := range append(w.readers(), w.answersAt()) {
		w.send(p, w.wordsAt(p).Phrases.Say(id, pairs...))
	}
}

// threadChannel names the notes of threads opened, by the messages that opened them.
const threadChannel = "thread"

// join fills in the thread of a message that belongs in its job's. already is the
// channel's id of the message where the record says that it opened that thread: the
// service was stopped before the delivery itself was noted.
func (o *outbox) join(ctx context.Context, m *Outbound) (already string, err error) {
	j, err := o.jobOf(ctx, m.Job)
	if err != nil || j == nil {
		return "", err
	}
	if o.shared != nil && o.thread(j).Thread == "" { // another service may just have opened it
		if err := o.reread(ctx, m.Job); err != nil {
			return "", err
		}
		if j, err = o.jobOf(ctx, m.Job); err != nil || j == nil {
			return "", err
		}
	}
	if t := o.thread(j); t.Channel == m.Channel && t.Conversation == m.Conversation {
		m.Thread = t.Thread
	}
	if m.Thread != "" && j.Root == m.ID {
		already = m.Thread
	}
	return already, nil
}

// opened notes the thread a message has opened, however long that takes: what comes
// after it belongs there.
func (o *outbox) opened(ctx context.Context, m *Outbound, id string) error {
	for n := 1; ; n++ {
		err := o.noteThread(context.WithoutCancel(ctx), m, id)
		if err == nil {
			return nil
		}
		o.Log.Error().Err(err).Str("correlation", m.ID).Msg("noting a job's thread")
		if !pause(ctx, backoff(o.Backoff, n)) {
			return err
		}
	}
}

func (o *outbox) noteThread(ctx context.Context, m *Outbound, id string) error {
	w := &work{Service: o.Service, in: Inbound{Channel: threadChannel, ID: m.ID}, now: o.Now()}
	defer w.release()
	if ok, err := w.take(ctx, m.Job); err != nil || !ok {
		return err
	}
	w.add(Event{Kind: EventThread, Place: Place{m.Channel, m.Conversation, id}})
	if err := w.commit(ctx); CodeOf(err) != CodeSeen {
		return err
	}
	return nil
}

// jobOf reads a job, open or closed, or nil.
func (s *Service) jobOf(ctx context.Context, id string) (*Job, error) {
	if j := s.table.job(id); j != nil {
		return j, nil
	}
	at, after, err := s.store.Read(ctx, id, false)
	if err != nil || at == nil && len(after) == 0 {
		return nil, err
	}
	j, err := jobFrom(at, after)
	if err != nil {
		return nil, fmt.Errorf("reading job %s: %w", id, err)
	}
	return j, nil
}
