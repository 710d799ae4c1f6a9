package web

import (
	"cmp"
	"fmt"
	"html/template"
	"slices"
	"strings"
)

// line is one suspect's probability after each message.
type line struct {
	Name   string
	Points []float64 // 0 to 1
}

// The chart's measures, in its own units; a phone shows it about as wide.
const (
	chartWidth, chartHeight   = 360.0, 200.0
	chartLeft, chartRight     = 46.0, 24.0
	chartTop, chartBottom     = 10.0, 24.0
	labelApart                = 15.0
	chartLines, chartNumbered = 5, 12
)

// dashes tell the lines apart without their colours, as do their letters.
var dashes = [chartLines]string{"none", "7 3", "2 3", "9 3 2 3", "1 4"}

// letter is what the nth suspect is called in the chart and beside it.
func letter(n int) string { return string(rune('A' + n)) }

// chart draws the suspects' probabilities over the messages; title and told are what it
// is and, for one who does not see it, what it shows.
func chart(lines []line, title, told string) template.HTML {
	lines = lines[:min(len(lines), chartLines)]
	steps := 0
	for _, l := range lines {
		steps = max(steps, len(l.Points))
	}
	if steps < 2 {
		return "" // one point is no course of things
	}
	x := func(i int) float64 {
		return chartLeft + float64(i)*(chartWidth-chartLeft-chartRight)/float64(steps-1)
	}
	y := func(p float64) float64 { return chartTop + (1-p)*(chartHeight-chartTop-chartBottom) }
	var b strings.Builder
	fmt.Fprintf(&b, `<svg class="chart" viewBox="0 0 %g %g" role="img"><title>%s</title><desc>%s</desc>`, chartWidth, chartHeight,
		template.HTMLEscapeString(title), template.HTMLEscapeString(told))
	for _, p := range []float64{0, 0.5, 1} {
		fmt.Fprintf(&b, `<line class="grid" x1="%g" x2="%g" y1="%.1f" y2="%.1f"/><text class="soft" x="%g" y="%.1f" text-anchor="end">%g %%</text>`,
			chartLeft, chartWidth-chartRight, y(p), y(p), chartLeft-5, y(p)+4, 100*p)
	}
	every := (steps + chartNumbered - 1) / chartNumbered
	for i := 0; i < steps; i += every {
		fmt.Fprintf(&b, `<text class="soft" x="%.1f" y="%g" text-anchor="middle">%d</text>`, x(i), chartHeight-6, i+1)
	}
	for n, l := range slices.Backward(lines) { // the likeliest is drawn last, over the rest
		fmt.Fprintf(&b, `<g class="c%d"><path stroke-dasharray="%s" d="`, n+1, dashes[n])
		for i, p := range l.Points {
			fmt.Fprintf(&b, "%c%.1f %.1f", "ML"[min(i, 1)], x(i), y(p))
		}
		b.WriteString(`"/>`)
		for i, p := range l.Points {
			fmt.Fprintf(&b, `<circle class="mark" cx="%.1f" cy="%.1f" r="2.5"/>`, x(i), y(p))
		}
		b.WriteString("</g>")
	}
	for n, at := range apart(lines, y) {
		fmt.Fprintf(&b, `<text class="c%d" x="%g" y="%.1f" font-weight="700" stroke="none">%s</text>`, n+1, chartWidth-chartRight+8, at+4, letter(n))
	}
	b.WriteString("</svg>")
	return template.HTML(b.String()) // every text in it is escaped above
}

// apart places the letters at the ends of the lines, moved so that none covers another.
func apart(lines []line, y func(float64) float64) []float64 {
	at := make([]float64, len(lines))
	order := make([]int, len(lines))
	for n, l := range lines {
		at[n], order[n] = y(l.Points[len(l.Points)-1]), n
	}
	slices.SortStableFunc(order, func(a, b int) int { return cmp.Compare(at[a], at[b]) })
	for i, n := range order {
		if i > 0 {
			at[n] = max(at[n], at[order[i-1]]+labelApart)
		}
	}
	bottom := chartHeight - chartBottom
	for i, n := range slices.Backward(order) {
		if at[n] > bottom {
			at[n] = bottom
		}
		bottom = at[order[i]] - labelApart
	}
	return at
}
