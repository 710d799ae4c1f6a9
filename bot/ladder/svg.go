package ladder

import (
	"bufio"
	"encoding/xml"
	"fmt"
	"io"
	"strconv"
	"strings"
)

// face is what SVG asks for; text is taken to be no wider than these have it.
const face = "system-ui, 'Segoe UI', Roboto, 'Liberation Sans', Arial, sans-serif"

// SVG writes the drawing as one SVG element, for a file of its own or inside a page. It
// holds no script and no style, so the strictest policy of a page lets it be.
func (d *Drawing) SVG(w io.Writer, look Look) error {
	s := d.sheet(picture(), rung)
	out := &pen{w: bufio.NewWriter(w), theme: look.theme()}
	out.f(`<svg xmlns="http://www.w3.org/2000/svg" class="ladder" role="img" aria-labelledby="ladder-title ladder-desc" viewBox="0 0 %s %s" font-family="%s">`, n(s.w), n(s.h), face)
	out.f("\n<title id=\"ladder-title\">%s</title>\n<desc id=\"ladder-desc\">%s</desc>\n", text(d.Title()), text(d.Description()))
	out.f(`<rect class="ladder-paper" width="%s" height="%s" fill="%s"/>`+"\n", n(s.w), n(s.h), out.theme["paper"])
	out.sheet(s)
	out.f("</svg>\n")
	return out.w.Flush()
}

// pen writes a sheet as SVG.
type pen struct {
	w     *bufio.Writer
	theme theme
}

func (p *pen) f(format string, args ...any) { fmt.Fprintf(p.w, format, args...) }

// n is a length as short as it can be written.
func n(v float64) string { return strconv.FormatFloat(float64(int(v*10+0.5))/10, 'f', -1, 64) }

func text(s string) string {
	var b strings.Builder
	_ = xml.EscapeText(&b, []byte(s)) // a builder takes everything
	return b.String()
}

func (p *pen) sheet(s *sheet) {
	for _, f := range s.frames {
		if f.place != "" {
			p.f(`<rect class="ladder-place" x="%s" y="%s" width="%s" height="%s" fill="%s"/>`+"\n", n(f.box.x0), n(f.box.y0), n(f.box.width()), n(f.box.height()), p.theme.tint(f.place))
			continue
		}
		p.f(`<rect class="ladder-frame" x="%s" y="%s" width="%s" height="%s" rx="12" fill="none" stroke-dasharray="4 3" stroke="%s"/>`+"\n", n(f.box.x0), n(f.box.y0), n(f.box.width()), n(f.box.height()), p.theme["faint"])
	}
	p.f(`<g class="ladder-wires" stroke="%s" stroke-width="3.6" stroke-linecap="round">`+"\n", p.theme["ink"])
	for _, w := range s.wires {
		p.f(`<path d="M%s %sL%s %s"/>`, n(w.a.x), n(w.a.y), n(w.b.x), n(w.b.y))
	}
	p.f("</g>\n")
	for _, w := range s.wires {
		if c := insulation(w.colour); c != "" {
			p.f(`<path d="M%s %sL%s %s" stroke="%s" stroke-width="2" stroke-linecap="round"/>`, n(w.a.x), n(w.a.y), n(w.b.x), n(w.b.y), c)
		}
	}
	p.f(`<g class="ladder-symbols" fill="none" stroke="%s" stroke-width="1.7" stroke-linecap="round" stroke-linejoin="round">`+"\n", p.theme["ink"])
	for i := range s.symbols {
		p.figure(&s.symbols[i])
	}
	p.f("</g>\n")
	for _, at := range s.dots {
		p.f(`<circle cx="%s" cy="%s" r="3.4" fill="%s"/>`, n(at.x), n(at.y), p.theme["ink"])
	}
	for _, e := range s.earths {
		p.earth(e)
	}
	if s.meter != nil {
		p.meter(s)
	}
	for _, l := range s.labels {
		p.label(l)
	}
}

// figure draws a symbol in the colour of what is known of its part.
func (p *pen) figure(f *figure) {
	t, colour := p.theme, ""
	switch {
	case f.suspect:
		colour = t["suspect"]
	case f.open:
		colour = t["open"]
	case f.good:
		colour = t["good"]
	case f.absent:
		colour = t["faint"]
	}
	p.f(`<g data-part="%s"`, text(f.part.id))
	if colour != "" {
		p.f(` stroke="%s" stroke-width="2.2"`, colour)
	}
	p.f(">")
	if f.suspect {
		b := f.box.grown(1)
		p.f(`<rect x="%s" y="%s" width="%s" height="%s" rx="6" stroke-width="1.2" stroke-dasharray="3 3"/>`, n(b.x0), n(b.y0), n(b.width()), n(b.height()))
	}
	p.strokes(f.strokes())
	p.f("</g>\n")
}

// earth draws the sign of earth, or an open end where a wire goes on elsewhere.
func (p *pen) earth(e earth) {
	x, y, d := e.at.x, e.at.y, 1.0
	if e.upward {
		d = -1
	}
	p.f(`<path d="M%s %sV%sM%s %sh18M%s %sh12M%s %sh5" stroke="%s" stroke-width="1.7" fill="none"/>`+"\n", n(x), n(y), n(y+6*d), n(x-9), n(y+6*d), n(x-6), n(y+10*d), n(x-2.5), n(y+14*d), p.theme["ink"])
}

// meter draws the meter, its leads and what they touch.
func (p *pen) meter(s *sheet) {
	b, t := s.meter.box, p.theme
	for _, l := range s.leads {
		colour := t["black"]
		if l.red {
			colour = t["red"]
		}
		p.f(`<path class="ladder-lead" d="`)
		for i, at := range l.path {
			p.f("%c%s %s", "LM"[b2i(i == 0)], n(at.x), n(at.y))
		}
		p.f(`" fill="none" stroke="%s" stroke-width="3" stroke-linejoin="round" stroke-linecap="round"/>`+"\n", colour)
	}
	p.f(`<rect class="ladder-meter" x="%s" y="%s" width="%s" height="%s" rx="9" fill="%s" stroke="%s" stroke-width="2"/>`+"\n", n(b.x0), n(b.y0), n(b.width()), n(b.height()), t["paper"], t["ink"])
	for i, at := range s.meter.sockets {
		colour := t["black"]
		if i == 0 && len(s.meter.jaws) == 0 {
			colour = t["red"]
		}
		p.f(`<circle cx="%s" cy="%s" r="4" fill="%s"/>`, n(at.x), n(at.y), colour)
	}
	for _, j := range s.meter.jaws {
		p.f(`<rect x="%s" y="%s" width="%s" height="%s" rx="5" fill="none" stroke="%s" stroke-width="3"/>`, n(j.x0), n(j.y0), n(j.width()), n(j.height()), t["red"])
	}
	if len(s.meter.jaws) == 0 {
		for _, l := range s.leads {
			at, colour := l.path[len(l.path)-1], t["black"]
			if l.red {
				colour = t["red"]
			}
			p.f(`<circle cx="%s" cy="%s" r="5" fill="%s" stroke="%s" stroke-width="1.5"/>`, n(at.x), n(at.y), colour, t["paper"])
		}
	}
}

func (p *pen) strokes(strokes []stroke) {
	for _, s := range strokes {
		if s.radius > 0 {
			p.f(`<circle cx="%s" cy="%s" r="%s"/>`, n(s.path[0].x), n(s.path[0].y), n(s.radius))
			continue
		}
		p.f(`<path d="`)
		for i, at := range s.path {
			p.f("%c%s %s", "LM"[b2i(i == 0)], n(at.x), n(at.y))
		}
		p.f(`"/>`)
	}
}

func b2i(b bool) int {
	if b {
		return 1
	}
	return 0
}

func (p *pen) label(l label) {
	size := picture().size(l.class)
	x, anchor := l.box.x0, ""
	if l.class.sign() {
		p.sign(l)
		x += picture().signed(l.class)
	}
	switch {
	case l.class.sign() || l.align == left:
	case l.align == centred:
		x, anchor = (l.box.x0+l.box.x1)/2, ` text-anchor="middle"`
	default:
		x, anchor = l.box.x1, ` text-anchor="end"`
	}
	weight := ""
	if l.class.bold() {
		weight = ` font-weight="bold"`
	}
	p.f(`<text x="%s" y="%s" font-size="%s" fill="%s"%s%s>%s</text>`+"\n", n(x), n(l.box.y1-0.28*size), n(size), p.theme.of(l.class), anchor, weight, text(l.text))
}

// sign draws the shape before a label's words, so that colour is never all that tells.
func (p *pen) sign(l label) {
	r := l.box.height()/2 - 2
	x, y := l.box.x0+r+1, (l.box.y0+l.box.y1)/2
	c := p.theme.of(l.class)
	switch l.class {
	case classGood:
		p.f(`<circle cx="%s" cy="%s" r="%s" fill="%s"/><path d="M%s %sl%s %sl%s %s" fill="none" stroke="%s" stroke-width="1.6"/>`, n(x), n(y), n(r), c, n(x-3), n(y), "2.2", "2.4", "3.8", "-4.6", p.theme["paper"])
	case classSuspect:
		p.f(`<path d="M%s %sL%s %sH%sZ" fill="%s"/>`, n(x), n(y-r), n(x+r), n(y+r-1), n(x-r), c)
	case classOpen:
		p.f(`<circle cx="%s" cy="%s" r="%s" fill="none" stroke="%s" stroke-width="1.8" stroke-dasharray="5 3"/>`, n(x), n(y), n(r-1), c)
	case classValue:
		p.f(`<path d="M%s %sL%s %sL%s %sL%s %sZ" fill="%s"/>`, n(x), n(y-r), n(x+r), n(y), n(x), n(y+r), n(x-r), n(y), c)
	case classRed:
		p.f(`<circle cx="%s" cy="%s" r="%s" fill="%s"/>`, n(x), n(y), n(r-1), c)
	case classBlack:
		p.f(`<path d="M%s %sh%sv%sh-%sZ" fill="%s"/>`, n(x-r+1.5), n(y-r+1.5), n(2*r-3), n(2*r-3), n(2*r-3), c)
	case classRotor:
		p.f(`<circle cx="%s" cy="%s" r="%s" fill="none" stroke="%s" stroke-width="1.4"/><text x="%s" y="%s" font-size="8" text-anchor="middle" fill="%s">M</text>`, n(x), n(y), n(r), c, n(x), n(y+3), c)
	default:
	}
}
