package understand

import (
	"slices"
	"strings"
)

// Standing is a figure that was asked about and is not placed yet.
type Standing struct {
	Unclear
	// Said is the message it was said in.
	Said string
}

// Says tells that a message brings something: a reading, a thing seen, a fact, a
// hazard, or a figure to ask about.
func (u *Utterance) Says() bool {
	return len(u.Readings)+len(u.Observations)+len(u.Facts)+len(u.Unclear)+len(u.Hazards)+len(u.Present) > 0
}

// joined reads a message that brings nothing of its own as the answer to which
// reading a standing figure is: "suction", "the line side". What it does not place
// stands on.
func (r *Reader) joined(text string, u Utterance, ctx Context) Utterance {
	standing := ctx.Standing
	// The figure answers which: nothing that is asked for besides, nor an earlier one.
	ctx = Context{Facts: ctx.Facts, Place: ctx.Place}
	if all := r.inOrder(text, standing, ctx); all != nil {
		u.Readings = all
		return u
	}
	several := len(standing) > 1
	for i, s := range standing {
		if several && len(r.first(text, ctx).places) > 1 {
			break // which of them is which?
		}
		if seen := r.whichSeen(text, s, ctx); seen != nil {
			u.Observations = append(u.Observations, *seen)
			u.Standing = slices.Delete(slices.Clone(standing), i, i+1)
			return u
		}
		is := r.which(text, s, ctx)
		if is == nil || several && !slices.Contains(s.Options, string(is.Reading)) {
			continue
		}
		u.Readings = append(u.Readings, *is)
		u.Standing = slices.Delete(slices.Clone(standing), i, i+1)
		return u
	}
	u.Standing = standing
	return u
}

// whichSeen reads the answer to which part something was seen of: its name in the place
// of the general word, "outdoor fan", or where it is, "the one outside". It is nil when
// that tells none of those offered.
func (r *Reader) whichSeen(answer string, s Standing, ctx Context) *Observation {
	offered := func(said string, ctx Context) *Observation {
		for _, o := range r.blocks(said, ctx).Observations {
			if slices.Contains(s.Options, o.Subject) {
				return &o
			}
		}
		return nil
	}
	if o := offered(strings.Replace(s.Said, s.Text, answer, 1), ctx); o != nil {
		return o
	}
	for _, p := range r.first(answer, ctx).places {
		if ctx.Place = p.comp.Place; ctx.Place != "" {
			return offered(s.Said, ctx)
		}
	}
	return nil
}

// inOrder reads "suction and liquid" for several figures in the order they were said;
// nil when the answer does not place each.
func (r *Reader) inOrder(answer string, standing []Standing, ctx Context) []Reading {
	if len(standing) < 2 {
		return nil
	}
	figures := make([]string, len(standing))
	for i := range standing {
		figures[i] = standing[i].Text
	}
	u := r.blocks(answer+" "+strings.Join(figures, " and "), ctx)
	if len(u.Readings) != len(standing) || len(u.Unclear) > 0 {
		return nil
	}
	return u.Readings
}

// which reads a standing figure with the answer before it, and where it was said with
// the answer after it: one of what was offered if it can be, else what the answer
// itself names; nil when it names nothing.
func (r *Reader) which(answer string, s Standing, ctx Context) *Reading {
	var named *Reading
	if scale := r.scaleNamed(answer, s.Scales); scale != "" {
		ctx.scale, answer = scale, ""
	}
	for _, text := range []string{answer + " " + s.Text, s.Said + " " + answer} {
		u := r.blocks(text, ctx)
		for i := range u.Readings {
			o := &u.Readings[i]
			switch {
			case !strings.Contains(o.Text, s.Text):
			case slices.Contains(s.Options, string(o.Reading)):
				return o
			case named == nil && text != s.Said+" "+answer:
				named = o
			}
		}
	}
	return named
}
