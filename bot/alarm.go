package bot

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"
	"time"

	"proveout/dialog"
	"proveout/knowledge"
)

// due lists the alarms a job gives at a time: each once, until what it is about has
// changed; none while it is snoozed or a senior has it.
func due(j *Job, now time.Time, p Alarms) []AlarmKind {
	if !j.Open() || now.Before(j.Snoozed) || j.Taken != "" {
		return nil
	}
	var out []AlarmKind
	late := func(k AlarmKind, since time.Time, minutes int) {
		if _, told := j.Alarmed[k]; !told && minutes > 0 && !since.IsZero() && now.Sub(since) >= time.Duration(minutes)*time.Minute {
			out = append(out, k)
		}
	}
	late(AlarmWaiting, j.WaitingSince, p.ProposalWaiting)
	if j.Status == dialog.Measuring || j.Status == dialog.Verifying {
		late(AlarmSilent, latest(j.LastReading, j.Snoozed), p.NoReading)
	}
	if _, told := j.Alarmed[AlarmStuck]; !told && p.NoProgress > 0 && j.Idle >= p.NoProgress {
		out = append(out, AlarmStuck)
	}
	if j.Slot.IsZero() {
		late(AlarmSlot, j.Opened, p.Slot)
	} else if _, told := j.Alarmed[AlarmSlot]; !told && now.After(j.Slot) {
		out = append(out, AlarmSlot)
	}
	return out
}

func latest(a, b time.Time) time.Time {
	if b.After(a) {
		return b
	}
	return a
}

// Watch gives the alarms that are due now, and lets go what waited for the quiet hours
// to end.
func (s *Service) Watch(ctx context.Context) error {
	s.out.release()
	now := s.Now()
	var errs []error
	for j := range s.table.everyone() {
		if len(due(j, now, s.config.Policy.Alarms)) == 0 {
			continue
		}
		if err := s.ring(ctx, j.ID, now); err != nil && CodeOf(err) != CodeConflict {
			errs = append(errs, fmt.Errorf("alarms of job %s: %w", j.ID, err))
		}
		if ctx.Err() != nil {
			return ctx.Err()
		}
	}
	return errors.Join(errs...)
}

// ring records a job's due alarms and tells whom they concern.
func (s *Service) ring(ctx context.Context, job string, now time.Time) error {
	w := &work{Service: s, now: now}
	defer w.release()
	if ok, err := w.take(ctx, job); err != nil || !ok {
		return err
	}
	for _, k := range due(w.job, now, s.config.Policy.Alarms) {
		w.alarm(k)
	}
	return w.commit(ctx)
}

// alarm records an alarm that was not given yet and tells the dispatchers, the senior
// on call and the shop's room.
func (w *work) alarm(k AlarmKind) {
	if _, told := w.job.Alarmed[k]; told {
		return
	}
	w.add(Event{Kind: EventAlarm, Alarm: k})
	to := w.people.with(DispatcherRole)
	if k != AlarmSilent && k != AlarmSlot {
		to = slices.Concat(to, w.seniors())
	}
	alarm := func(words *knowledge.Base) (string, []Button) {
		snooze := Button{Action: "snooze:" + w.job.ID, Label: words.Phrases.Say("button-snooze")}
		return w.sayAlarm(words, k), []Button{snooze, takeButton(words, w.job.ID)}
	}
	if kind := AlarmKind(k.label()); kind == AlarmHazard || kind == AlarmSenior {
		w.direct(to, alarm)
	} else {
		w.notify(to, alarm)
	}
	at := w.thread(w.job)
	if room := w.config.Channels[w.job.Home.Channel].Conversation; room != "" && room != at.Conversation {
		at = Place{Channel: w.job.Home.Channel, Conversation: room} // it began elsewhere than in the room
	}
	if at.Conversation != "" {
		text, buttons := alarm(w.agent.Words(w.config.Language))
		w.send(at, text, buttons...)
	}
}

// sayAlarm says what is the matter and where the job stands; of a hazard what to do.
func (w *work) sayAlarm(words *knowledge.Base, k AlarmKind) string {
	beware := ""
	if _, about, _ := strings.Cut(string(k), ":"); words.Cautions[about] != nil {
		beware = words.Cautions[about].Text
	}
	return words.Phrases.Say("alarm", "job", w.job.ID, "what", sayWhy(words, w.job, k, w.now), "beware", beware) + "\n" + w.sayJob(words, w.job, w.now)
}

// sayWhy is what an alarm is about, as it is at a time.
func sayWhy(words *knowledge.Base, j *Job, k AlarmKind, now time.Time) string {
	since := func(id string, t time.Time) string {
		return words.Phrases.Say(id, "minutes", minutes(now.Sub(t)))
	}
	switch kind, _, _ := strings.Cut(string(k), ":"); AlarmKind(kind) {
	case AlarmHazard:
		return words.Phrases.Say("alarm-hazard")
	case AlarmWaiting:
		return since("alarm-waiting", j.WaitingSince)
	case AlarmSilent:
		return since("alarm-silent", j.LastReading)
	case AlarmStuck:
		return words.Phrases.Count("alarm-stuck", j.Idle)
	case AlarmSlot:
		return since("alarm-slot", j.Opened)
	case AlarmSenior:
		return words.Phrases.Say("alarm-senior")
	}
	return ""
}
