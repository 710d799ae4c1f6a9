package ladder

import (
	"cmp"
	"fmt"
	"strings"
)

// Look is the colours a picture is drawn in.
type Look int

// The looks.
const (
	// Light is on white, for paper and a chat.
	Light Look = iota
	// Dark is on near black.
	Dark
	// Page leaves the colours to the page the drawing is part of: see CSS.
	Page
)

// theme is the colours of a drawing by what they are for. What bears words stands at
// least 4.5 to 1 from the paper and every tint (WCAG 2.2, 1.4.3).
type theme map[string]string

// lightly and darkly are the colours on white and on near black.
func lightly() theme {
	return theme{
		"paper": "#ffffff", "ink": "#16202b", "faint": "#4d5863",
		"good": "#0a6135", "suspect": "#9a3f08", "open": "#7a2a8f", "value": "#0b5394", "red": "#b3141d", "black": "#16202b",
		"panel": "#fdf3e0", "outdoor": "#e9f3fb", "indoor": "#eaf6ea", "thermostat": "#f7eafa", "place": "#f0f2f4",
	}
}

func darkly() theme {
	return theme{
		"paper": "#11161c", "ink": "#e7edf3", "faint": "#a9b5c1",
		"good": "#57c98a", "suspect": "#f2a65a", "open": "#d59be6", "value": "#7cb8f2", "red": "#ff7b7b", "black": "#e7edf3",
		"panel": "#2b2416", "outdoor": "#14263a", "indoor": "#16291c", "thermostat": "#2a1b30", "place": "#1c232b",
	}
}

// theme is a look's colours as SVG writes them.
func (l Look) theme() theme {
	switch l {
	case Dark:
		return darkly()
	case Page:
		t := lightly()
		for name, colour := range t {
			t[name] = fmt.Sprintf("var(--ladder-%s, %s)", name, colour)
		}
		return t
	default:
		return lightly()
	}
}

// CSS gives a page the custom properties its drawings look to: light, and dark where the
// page is asked to be.
func CSS() string {
	var b strings.Builder
	set := func(t theme) {
		for _, name := range keys(t) {
			fmt.Fprintf(&b, " --ladder-%s: %s;", name, t[name])
		}
	}
	b.WriteString(":root {")
	set(lightly())
	b.WriteString(" }\n@media (prefers-color-scheme: dark) { :root {")
	set(darkly())
	b.WriteString(" } }\n")
	return b.String()
}

// of is the colour of a class of words.
func (t theme) of(c class) string {
	switch c {
	case classTag, classKey, classAbsent, classPlace:
		return t["faint"]
	default:
		return cmp.Or(t[string(c)], t["ink"])
	}
}

// tint is the ground of a place.
func (t theme) tint(place string) string { return cmp.Or(t[place], t["place"]) }

// insulation is what a wire's colour looks like; none where the name says nothing.
func insulation(name string) string {
	return map[string]string{
		"red": "#e03030", "blue": "#2f6fe0", "yellow": "#f5d020", "green": "#2fa84f", "black": "#000000", "white": "#ffffff",
		"brown": "#8a5a2b", "purple": "#8e44c9", "orange": "#f08a24", "grey": "#8a939c", "gray": "#8a939c", "pink": "#f19ac0",
	}[name]
}
