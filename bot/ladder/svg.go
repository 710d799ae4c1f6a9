package ladder

import (
	"bufio"
	"encoding/xml"
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"
)

// face is what SVG asks for; words are taken to be no narrower than these have them.
const face = "system-ui, 'Segoe UI', Roboto, 'Liberation Sans', Arial, sans-serif"

// SVG writes the drawing as one SVG element, for a file of its own or inside a page. It
// holds no script and no style, so the strictest policy of a page lets it be.
func (d *Drawing) SVG(w io.Writer, look Look) error {
	s := d.sheet(picture(), rung)
	v := &vector{bufio.NewWriter(w)}
	p := &painter{v, look.theme(), picture()}
	v.f(`<svg xmlns="http://www.w3.org/2000/svg" class="ladder" role="img" aria-labelledby="ladder-title ladder-desc" viewBox="0 0 %s %s" font-family="%s">`, n(s.w), n(s.h), face)
	v.f("\n<title id=\"ladder-title\">%s</title>\n<desc id=\"ladder-desc\">%s</desc>\n", escaped(d.Title()), escaped(d.Description()))
	p.rect(area{0, 0, s.w, s.h}, 0, ink{fill: p.theme["paper"]})
	p.sheet(s)
	v.f("</svg>\n")
	return v.Flush()
}

// vector is a canvas of SVG. Its writer keeps an error for Flush.
type vector struct{ *bufio.Writer }

func (v *vector) f(format string, args ...any) { fmt.Fprintf(v.Writer, format, args...) }

// n is a length as short as it can be written.
func n(v float64) string { return strconv.FormatFloat(math.Round(v*10)/10, 'f', -1, 64) }

func escaped(s string) string {
	var b strings.Builder
	_ = xml.EscapeText(&b, []byte(s)) // a builder takes everything
	return b.String()
}

func (v *vector) ink(i ink) {
	fill := i.fill
	if fill == "" {
		fill = "none"
	}
	v.f(` fill="%s"`, fill)
	if i.line != "" {
		v.f(` stroke="%s" stroke-width="%s" stroke-linecap="round" stroke-linejoin="round"`, i.line, n(i.width))
	}
	if i.dash > 0 {
		v.f(` stroke-dasharray="%s"`, n(i.dash))
	}
	v.f("/>\n")
}

func (v *vector) paths(of [][]spot, i ink) {
	v.f(`<path d="`)
	for _, path := range of {
		for j, at := range path {
			letter := "L"
			if j == 0 {
				letter = "M"
			}
			v.f("%s%s %s", letter, n(at.x), n(at.y))
		}
		if i.fill != "" {
			v.f("Z")
		}
	}
	v.f(`"`)
	v.ink(i)
}

func (v *vector) circle(at spot, r float64, i ink) {
	v.f(`<circle cx="%s" cy="%s" r="%s"`, n(at.x), n(at.y), n(r))
	v.ink(i)
}

func (v *vector) rect(a area, round float64, i ink) {
	v.f(`<rect x="%s" y="%s" width="%s" height="%s"`, n(a.x0), n(a.y0), n(a.width()), n(a.height()))
	if round > 0 {
		v.f(` rx="%s"`, n(round))
	}
	v.ink(i)
}

func (v *vector) words(text string, at spot, to align, f font) {
	v.f(`<text x="%s" y="%s" font-size="%s" fill="%s"`, n(at.x), n(at.y), n(f.size), f.colour)
	switch to {
	case centred:
		v.f(` text-anchor="middle"`)
	case right:
		v.f(` text-anchor="end"`)
	case left:
	}
	if f.bold {
		v.f(` font-weight="bold"`)
	}
	v.f(">%s</text>\n", escaped(text))
}

func (v *vector) part(id string) { v.f("<g data-part=\"%s\">\n", escaped(id)) }

func (v *vector) done() { v.f("</g>\n") }
