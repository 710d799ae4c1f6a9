package calibration

import (
	"fmt"
	"io"
	"math"
	"strings"
	"text/tabwriter"

	"proveout/bot"
	"proveout/dialog"
)

// Sample is a probability that was given, and whether it was right.
type Sample struct {
	Given float64
	Right bool
	Call  bool // it was the agent's call; else its leading suspect
}

// Samples takes from a job's events what the agent held likeliest at each answer, and
// its calls, and whether that was the cause the job was closed with. A job closed with
// nothing proven gives none. What a senior named is not the agent's.
func Samples(events []bot.Event) []Sample {
	type given struct {
		fault string
		Sample
	}
	var out []Sample
	var open []given
	senior, called := false, ""
	for i := range events {
		switch e := &events[i]; e.Kind {
		case bot.EventSaid:
			senior = e.From == dialog.Senior
		case bot.EventAnswered:
			a := e.Reply
			named := senior && a.Called && a.Fault != called // by the senior
			if a.Fault != "" && a.Probability > 0 && !named && (a.Status == dialog.Measuring || a.Called && a.Fault != called) {
				open = append(open, given{a.Fault, Sample{Given: a.Probability, Call: a.Called}})
			}
			if called = ""; a.Called {
				called = a.Fault
			}
		case bot.EventClosed:
			for _, g := range open {
				if g.Right = g.fault == e.Fault; e.Verdict == bot.ClosedProven && e.Fault != "" {
					out = append(out, g.Sample)
				}
			}
			open, called = nil, ""
		default:
		}
	}
	return out
}

// Bin gathers the samples whose probability lies in a tenth.
type Bin struct {
	From, To    float64
	N, Right    int
	Mean, Share float64
	// Low and High bound the share, in nineteen of twenty cases (Wilson's interval).
	Low, High float64
}

// Bins sorts samples into tenths; tenths without samples are left out.
func Bins(samples []Sample) []Bin {
	const tenths = 10
	var all [tenths]Bin
	for _, s := range samples {
		i := min(int(s.Given*tenths), tenths-1)
		b := &all[i]
		b.N++
		b.Mean += s.Given
		if s.Right {
			b.Right++
		}
	}
	var out []Bin
	for i, b := range all {
		if b.N == 0 {
			continue
		}
		n := float64(b.N)
		b.From, b.To = float64(i)/tenths, float64(i+1)/tenths
		b.Mean /= n
		b.Share = float64(b.Right) / n
		const z = 1.96
		mid := (b.Share + z*z/(2*n)) / (1 + z*z/n)
		half := z / (1 + z*z/n) * math.Sqrt(b.Share*(1-b.Share)/n+z*z/(4*n*n))
		b.Low, b.High = max(0, mid-half), min(1, mid+half)
		out = append(out, b)
	}
	return out
}

// Brier is the mean square between what was given and what was so: 0 is perfect, 0.25
// is what always saying one half gets.
func Brier(samples []Sample) float64 {
	if len(samples) == 0 {
		return 0
	}
	sum := 0.0
	for _, s := range samples {
		d := s.Given
		if s.Right {
			d = 1 - s.Given
		}
		sum += d * d
	}
	return sum / float64(len(samples))
}

// WriteTable writes the bins as a table.
func WriteTable(w io.Writer, bins []Bin) error {
	t := tabwriter.NewWriter(w, 0, 0, 2, ' ', tabwriter.AlignRight)
	fmt.Fprintf(t, "given\tanswers\tmean given\tconfirmed\t95 %% of\t\n")
	for _, b := range bins {
		fmt.Fprintf(t, "%.0f-%.0f %%\t%d\t%.1f %%\t%.1f %%\t%.0f-%.0f %%\t\n", 100*b.From, 100*b.To, b.N, 100*b.Mean, 100*b.Share, 100*b.Low, 100*b.High)
	}
	return t.Flush()
}

// WriteSVG draws the reliability diagram: what was given to the right, what was
// confirmed upwards; on the diagonal both are the same.
func WriteSVG(w io.Writer, bins []Bin) error {
	const left, top, side = 60.0, 20.0, 400.0
	x := func(p float64) float64 { return left + side*p }
	y := func(p float64) float64 { return top + side*(1-p) }
	var b strings.Builder
	fmt.Fprintf(&b, "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 %g %g\" font-family=\"sans-serif\" font-size=\"12\">\n", left+side+20, top+side+50)
	b.WriteString("<title>Probability given and share confirmed</title>\n")
	fmt.Fprintf(&b, "<rect x=\"%g\" y=\"%g\" width=\"%g\" height=\"%g\" fill=\"none\" stroke=\"#999\"/>\n", left, top, side, side)
	fmt.Fprintf(&b, "<path d=\"M%g %gL%g %g\" stroke=\"#999\" stroke-dasharray=\"4 4\"/>\n", x(0), y(0), x(1), y(1))
	for i := 0; i <= 10; i += 2 {
		p := float64(i) / 10
		fmt.Fprintf(&b, "<text x=\"%g\" y=\"%g\" text-anchor=\"middle\">%d %%</text>\n", x(p), y(0)+18, 10*i)
		fmt.Fprintf(&b, "<text x=\"%g\" y=\"%g\" text-anchor=\"end\">%d %%</text>\n", x(0)-6, y(p)+4, 10*i)
	}
	fmt.Fprintf(&b, "<text x=\"%g\" y=\"%g\" text-anchor=\"middle\">given</text>\n", x(0.5), y(0)+38)
	fmt.Fprintf(&b, "<text transform=\"translate(14 %g) rotate(-90)\" text-anchor=\"middle\">confirmed</text>\n", y(0.5))
	for _, one := range bins {
		fmt.Fprintf(&b, "<path d=\"M%.1f %.1fL%.1f %.1f\" stroke=\"#1f3a4d\"/>\n", x(one.Mean), y(one.Low), x(one.Mean), y(one.High))
		fmt.Fprintf(&b, "<circle cx=\"%.1f\" cy=\"%.1f\" r=\"5\" fill=\"#1f3a4d\"><title>%d answers, given %.1f %%, confirmed %.1f %%</title></circle>\n",
			x(one.Mean), y(one.Share), one.N, 100*one.Mean, 100*one.Share)
	}
	b.WriteString("</svg>\n")
	_, err := io.WriteString(w, b.String())
	return err
}
