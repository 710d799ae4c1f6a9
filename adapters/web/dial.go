package web

import (
	"fmt"
	"html/template"
	"math"
	"slices"
	"strings"

	"proveout/bot"
)

// The dial's measures, in its own units and in degrees: it runs clockwise from lower
// left to lower right, as a gauge does.
const (
	dialSize, dialRadius = 200.0, 78.0
	dialFrom, dialSweep  = 225.0, 270.0
	dialTicks            = 25 // every fifth is numbered
)

// dialEnds are where scales of gauges end; the least that leaves some room is taken.
var dialEnds = []float64{100, 150, 250, 500, 800, 1000}

// dial draws a pressure as the gauge on the hoses shows it: the needle at the reading, a
// wedge on the rim where it should be, and the temperature it stands for. Pressures
// alone are read so; of anything else there is no dial.
func dial(g bot.Gauge) template.HTML {
	if g.Quantity != "pressure" || g.Value < 0 {
		return ""
	}
	most := g.Value
	should, text := g.Normal, g.NormalText
	if g.Target != nil {
		should, text = g.Target, g.TargetText
	}
	if should != nil {
		most = max(most, *should)
	}
	end := dialEnds[len(dialEnds)-1]
	if at := slices.IndexFunc(dialEnds, func(e float64) bool { return 1.15*most <= e }); at >= 0 {
		end = dialEnds[at]
	}
	spot := func(v, radius float64) (x, y float64) {
		sin, cos := math.Sincos((dialFrom - dialSweep*min(v/end, 1)) * math.Pi / 180)
		return dialSize/2 + radius*cos, dialSize/2 - radius*sin
	}
	var b strings.Builder
	fmt.Fprintf(&b, `<svg class="dial" viewBox="0 0 %g %g" role="img"><title>%s %s</title>`, dialSize, dialSize-16, template.HTMLEscapeString(g.Name), template.HTMLEscapeString(g.Text))
	x1, y1 := spot(0, dialRadius)
	x2, y2 := spot(end, dialRadius)
	fmt.Fprintf(&b, `<path class="rim" d="M%.1f %.1fA%g %g 0 1 1 %.1f %.1f"/>`, x1, y1, dialRadius, dialRadius, x2, y2)
	for i := range dialTicks + 1 {
		v, length := end*float64(i)/dialTicks, 5.0
		if i%5 == 0 {
			length = 10
			x, y := spot(v, dialRadius-21)
			fmt.Fprintf(&b, `<text x="%.1f" y="%.1f" text-anchor="middle">%g</text>`, x, y+4, v)
		}
		x1, y1 = spot(v, dialRadius)
		x2, y2 = spot(v, dialRadius-length)
		fmt.Fprintf(&b, `<path class="tick" d="M%.1f %.1fL%.1f %.1f"/>`, x1, y1, x2, y2)
	}
	if should != nil {
		x1, y1 = spot(*should, dialRadius+1)
		x2, y2 = spot(*should-end*0.018, dialRadius+14)
		x3, y3 := spot(*should+end*0.018, dialRadius+14)
		fmt.Fprintf(&b, `<path class="should" d="M%.1f %.1fL%.1f %.1fL%.1f %.1fz"><title>%s</title></path>`, x1, y1, x2, y2, x3, y3, template.HTMLEscapeString(text))
	}
	x1, y1 = spot(g.Value, dialRadius-6)
	x2, y2 = spot(g.Value, -14)
	fmt.Fprintf(&b, `<path class="needle" d="M%.1f %.1fL%.1f %.1f"/><circle class="hub" cx="%g" cy="%g" r="5"/>`, x2, y2, x1, y1, dialSize/2, dialSize/2)
	fmt.Fprintf(&b, `<text class="figure" x="%g" y="%g" text-anchor="middle">%s</text>`, dialSize/2, dialSize/2+64, template.HTMLEscapeString(g.Text))
	if g.Saturation != nil {
		fmt.Fprintf(&b, `<text class="soft" x="%g" y="%g" text-anchor="middle">%.0f °F</text>`, dialSize/2, dialSize/2+80, *g.Saturation)
	}
	b.WriteString("</svg>")
	return template.HTML(b.String()) // the texts in it are escaped above
}
