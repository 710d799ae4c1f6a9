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

// SVG writes the drawing as one SVG element, for a page of its own or inside another.
func (d *Drawing) SVG(w io.Writer) error {
	s := d.sheet(picture(), rung)
	out := &pen{w: bufio.NewWriter(w), theme: light()}
	out.f(`<svg xmlns="http://www.w3.org/2000/svg" class="ladder" role="img" aria-labelledby="ladder-title ladder-desc" viewBox="0 0 %s %s" font-family="%s">`, n(s.w), n(s.h), face)
	out.f("\n<title id=\"ladder-title\">%s</title>\n<desc id=\"ladder-desc\">%s</desc>\n", text(d.net.title), text(d.description()))
	out.f(`<rect class="ladder-paper" width="%s" height="%s" fill="%s"/>`+"\n", n(s.w), n(s.h), out.theme.paper)
	out.sheet(s)
	out.f("</svg>\n")
	return out.w.Flush()
}

func (d *Drawing) description() string { return "" }

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
		p.f(`<rect class="ladder-frame" x="%s" y="%s" width="%s" height="%s" rx="12" fill="%s"/>`+"\n", n(f.box.x0), n(f.box.y0), n(f.box.width()), n(f.box.height()), p.theme.frame)
	}
	p.f(`<g class="ladder-wires" stroke="%s" stroke-width="3.6" stroke-linecap="round">`+"\n", p.theme.ink)
	for _, w := range s.wires {
		p.f(`<path d="M%s %sL%s %s"/>`, n(w.a.x), n(w.a.y), n(w.b.x), n(w.b.y))
	}
	p.f("</g>\n")
	for _, w := range s.wires {
		if c := insulation(w.colour); c != "" {
			p.f(`<path d="M%s %sL%s %s" stroke="%s" stroke-width="2" stroke-linecap="round"/>`, n(w.a.x), n(w.a.y), n(w.b.x), n(w.b.y), c)
		}
	}
	p.f(`<g class="ladder-symbols" fill="none" stroke="%s" stroke-width="1.7" stroke-linecap="round" stroke-linejoin="round">`+"\n", p.theme.ink)
	for i := range s.symbols {
		f := &s.symbols[i]
		p.f(`<g id="part-%s">`, text(f.part.id))
		p.strokes(f.strokes())
		p.f("</g>\n")
	}
	p.f("</g>\n")
	for _, at := range s.dots {
		p.f(`<circle cx="%s" cy="%s" r="3.4" fill="%s"/>`, n(at.x), n(at.y), p.theme.ink)
	}
	for _, e := range s.earths {
		x, y := e.at.x, e.at.y
		p.f(`<path d="M%s %sv6M%s %sh18M%s %sh12M%s %sh5" stroke="%s" stroke-width="1.7" fill="none"/>`, n(x), n(y), n(x-9), n(y+6), n(x-6), n(y+10), n(x-2.5), n(y+14), p.theme.ink)
	}
	for _, l := range s.labels {
		p.label(l)
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
	size := picture().character(l.class) / 0.6
	x, anchor := l.box.x0, ""
	switch l.align {
	case centred:
		x, anchor = (l.box.x0+l.box.x1)/2, ` text-anchor="middle"`
	case right:
		x, anchor = l.box.x1, ` text-anchor="end"`
	case left:
	}
	p.f(`<text x="%s" y="%s" font-size="%s" fill="%s"%s>%s</text>`+"\n", n(x), n(l.box.y1-0.28*size), n(size), p.theme.of(l.class), anchor, text(l.text))
}
