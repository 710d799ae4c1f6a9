package web

import (
	"fmt"
	"html/template"
	"math"
	"strings"

	"proveout/bot"
)

// bar is a probability as a length, beside its number.
func bar(p float64) template.HTML {
	return template.HTML(fmt.Sprintf(
		`<svg class="bar" viewBox="0 0 100 6" preserveAspectRatio="none" aria-hidden="true"><rect class="track" width="100" height="6" rx="1"/>`+
			`<rect class="fill" width="%.1f" height="6" rx="1"/></svg>`, 100*min(max(p, 0), 1)))
}

// strip draws a figure beside what a sound machine would show: the middle is that, the
// mark where the figure lies from it. The scale widens with the difference and is never
// finer than a tenth of what is normal, so that a small difference looks small.
func strip(value, normal float64, beyond bool) template.HTML {
	const width, middle, reach = 160.0, 80.0, 68.0
	span := max(1.25*math.Abs(value-normal), 0.1*math.Abs(normal), 5)
	x := middle + reach*(value-normal)/span
	var b strings.Builder
	fmt.Fprintf(&b, `<svg class="strip" viewBox="0 0 %g 26" aria-hidden="true"><path class="scale" d="M8 13H152`, width)
	for i := -4; i <= 4; i++ {
		fmt.Fprintf(&b, "M%g 10v6", middle+reach/4*float64(i))
	}
	fmt.Fprintf(&b, `"/><path class="normal" d="M%g 3v20"/>`, middle)
	if beyond { // a full mark, and the way it is from normal
		fmt.Fprintf(&b, `<path class="way" d="M%g 13H%.1f"/><path class="mark" d="M%.1f 5l7 8-7 8-7-8z"/>`, middle, x, x)
	} else {
		fmt.Fprintf(&b, `<circle class="mark open" cx="%.1f" cy="13" r="6"/>`, x)
	}
	b.WriteString("</svg>")
	return template.HTML(b.String()) // numbers alone
}

// beside draws a gauge's figure beside its target, else beside a sound machine's; where
// there is neither there is nothing to draw.
func beside(g bot.Gauge) template.HTML {
	switch {
	case g.Target != nil:
		return strip(g.Value, *g.Target, g.Beyond)
	case g.Normal != nil:
		return strip(g.Value, *g.Normal, g.Beyond)
	}
	return ""
}
