package sms

import (
	"slices"
	"strings"

	"proveout/adapters/sms/gsm"
	"proveout/bot"
)

// replyParts is the most parts an answer of ours goes out in, unless what must be said
// needs more.
const replyParts = 2

// Compose writes a message as a text. An answer is cut to two parts, with the phrase
// that leads to the rest; the rest itself, and what a person wrote, stay whole.
//
// What must be said is never left out: what is dangerous, the first thing to do now, and
// the call. Where it does not fit in full it stands in its brief words. Of the rest goes
// first what was asked and what was understood, then where the leads go; what an answer
// would mean, what is ruled out, the proof and the table wait for "more".
func Compose(m *bot.Outbound) string {
	switch {
	case m.Quoted:
		return gsm.Tidy(m.Text)
	case m.Whole || m.Reply == nil || len(m.Reply.Lines) == 0:
		return gsm.Respell(unaligned(m.Text))
	}
	f := newFit(m.Reply.Lines, gsm.Respell(m.More))
	f.fill()
	return f.text()
}

// unaligned takes out what lines up the columns of a table, which a phone shows in
// letters of any width.
func unaligned(text string) string {
	var out []string
	for line := range strings.Lines(text) {
		out = append(out, strings.Join(strings.Fields(line), " "))
	}
	return strings.Join(out, "\n")
}

// fitted is a line of an answer and how it stands in the text: at present as says.
type fitted struct {
	part        bot.Part
	full, brief string
	says        string
	must        bool
}

// fit is an answer being cut.
type fit struct {
	lines []fitted
	more  string
}

func newFit(lines []bot.Line, more string) *fit {
	f := &fit{more: more}
	led := map[bot.Part]bool{}
	for _, l := range lines {
		x := fitted{part: l.Part, full: gsm.Respell(unaligned(l.Text)), brief: gsm.Respell(l.Brief)}
		if x.brief == "" || len(x.brief) >= len(x.full) {
			x.brief = x.full
		}
		switch l.Part {
		case bot.Safety, bot.Caution:
			x.must = true
		case bot.Next, bot.Verdict:
			x.must = !led[l.Part] // the first of them; what comes after it can wait
		default:
		}
		led[l.Part] = true
		f.lines = append(f.lines, x)
	}
	return f
}

// fill takes in what fits, the most needed first.
func (f *fit) fill() {
	for i := range f.lines {
		f.lines[i].says = f.lines[i].full
	}
	if f.fits() {
		return
	}
	for i := range f.lines {
		if f.lines[i].says = ""; f.lines[i].must {
			f.lines[i].says = f.lines[i].brief
		}
	}
	for _, take := range []struct {
		parts []bot.Part
		say   func(*fitted) []string
	}{
		{[]bot.Part{bot.Question, bot.Explained}, shortened},
		{[]bot.Part{bot.Heard}, shortened},
		{[]bot.Part{bot.Next}, briefly},
		{[]bot.Part{bot.How}, inFull},
		{[]bot.Part{bot.Safety, bot.Next, bot.Caution, bot.Verdict}, said(inFull)},
		{[]bot.Part{bot.Verdict, bot.Means, bot.Proves, bot.Proof, bot.Table}, inFull},
	} {
		for _, part := range take.parts {
			f.take(part, take.say)
		}
	}
}

// take takes in the lines of a part. A step stands only where those before it do.
func (f *fit) take(part bot.Part, say func(*fitted) []string) {
	for i := range f.lines {
		x := &f.lines[i]
		if x.part != part {
			continue
		}
		f.try(x, say(x))
		if part == bot.Next && x.says == "" {
			return
		}
	}
}

// try says a line in the first of several ways that fits, or leaves it as it was.
func (f *fit) try(x *fitted, ways []string) {
	was := x.says
	for _, way := range ways {
		if len(way) <= len(was) {
			continue
		}
		if x.says = way; f.fits() {
			return
		}
	}
	x.says = was
}

func inFull(x *fitted) []string { return []string{x.full} }

func briefly(x *fitted) []string { return []string{x.full, x.brief} }

// said is a way for lines that are in the text already.
func said(way func(*fitted) []string) func(*fitted) []string {
	return func(x *fitted) []string {
		if x.says == "" {
			return nil
		}
		return way(x)
	}
}

// shortened gives a line in full, in its brief words, then cut where it lists things.
func shortened(x *fitted) []string {
	out := briefly(x)
	for text := x.full; ; {
		at := strings.LastIndex(text, "; ")
		if at <= 0 {
			return out
		}
		text = text[:at]
		out = append(out, text+" ...")
	}
}

func (f *fit) fits() bool { return gsm.Count(f.text()) <= replyParts }

// text is the answer as it stands now.
func (f *fit) text() string {
	var out []string
	for i := range f.lines {
		if says := f.lines[i].says; says != "" {
			out = append(out, says)
		}
	}
	if f.more != "" && slices.ContainsFunc(f.lines, func(x fitted) bool { return x.says != x.full }) {
		out = append(out, f.more)
	}
	return strings.Join(out, "\n")
}
