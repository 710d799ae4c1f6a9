package ladder

import (
	"math"
	"strings"
	"unicode/utf8"
)

// Columns is how wide a drawing in a terminal may be, characters.
const Columns = 100

// Text draws for a terminal, within Columns where the netlist lets it.
func (d *Drawing) Text() string {
	best, least := "", math.MaxInt
	for limit := rung; limit > 0 && least > Columns; limit-- {
		text := typed(d.sheet(terminal(), limit))
		wide := 0
		for line := range strings.Lines(text) {
			wide = max(wide, utf8.RuneCountInString(line)-1)
		}
		if wide < least {
			best, least = text, wide
		}
	}
	return best
}

// typed sets a sheet in characters.
func typed(s *sheet) string {
	g := newGrid(s)
	for _, w := range s.wires {
		g.wire(w)
	}
	g.joined()
	for i := range s.symbols {
		g.symbol(&s.symbols[i])
	}
	for _, e := range s.earths {
		if !e.link {
			g.put(e.box.x0, e.box.y0, "gnd")
		}
	}
	for _, l := range s.labels {
		g.put(l.box.x0, l.box.y0, signs[l.class]+l.text)
	}
	return g.String()
}

// signs stand before the words of a mark.
var signs = map[class]string{classGood: "✓ ", classSuspect: "▲ ", classOpen: "○ ", classValue: "◆ ", classRed: "● ", classBlack: "■ ", classRotor: "Ⓜ "}

// grid is a screen of characters.
type grid struct {
	rows [][]rune
	arms [][]arms
}

// arms are the ways wires go from a character, by node.
type arms struct {
	node  string
	ways  ways
	under bool // another node's wire goes through below
}

// ways are the directions a wire goes.
type ways uint8

const (
	north ways = 1 << iota
	east
	south
	west
)

func newGrid(s *sheet) *grid {
	g := &grid{rows: make([][]rune, int(s.h)+2), arms: make([][]arms, int(s.h)+2)}
	for y := range g.rows {
		g.rows[y] = []rune(strings.Repeat(" ", int(s.w)+2))
		g.arms[y] = make([]arms, int(s.w)+2)
	}
	return g
}

// wire notes a strand's ways in every character it goes through.
func (g *grid) wire(w strand) {
	note := func(x, y int, way ways) {
		a := &g.arms[y][x]
		switch {
		case a.ways == 0 || a.node == w.node:
			a.node, a.ways = w.node, a.ways|way
		case way&(north|south) != 0: // one that goes down is drawn over one that goes across
			a.node, a.ways, a.under = w.node, way, true
		default:
			a.under = true
		}
	}
	if w.a.y == w.b.y {
		for x := int(math.Ceil(w.a.x)); float64(x) <= w.b.x; x++ {
			way := ways(0)
			if float64(x) > w.a.x {
				way |= west
			}
			if float64(x) < w.b.x {
				way |= east
			}
			note(x, int(w.a.y), way)
		}
		return
	}
	for y := int(math.Ceil(w.a.y)); float64(y) <= w.b.y; y++ {
		way := ways(0)
		if float64(y) > w.a.y {
			way |= north
		}
		if float64(y) < w.b.y {
			way |= south
		}
		note(int(w.a.x), y, way)
	}
}

// joined turns ways into characters.
func (g *grid) joined() {
	const lines = " ╵╶└╷│┌├╴┘─┴┐┤┬┼"
	for y, row := range g.arms {
		for x, a := range row {
			if a.ways == 0 {
				continue
			}
			if a.under {
				a.ways = north | south
			}
			g.rows[y][x] = []rune(lines)[a.ways]
		}
	}
}

// put writes words from a left and upper edge on.
func (g *grid) put(x0, y0 float64, text string) {
	x := int(x0 + 0.5)
	for _, r := range text {
		if x < len(g.rows[int(y0+0.5)]) {
			g.rows[int(y0+0.5)][x] = r
		}
		x++
	}
}

// drawn are symbols in characters: lying, and standing.
var drawn = map[symbol][2]string{
	box: {"─[ ]─", "[ ]"}, wire: {"─===─", "[=]"}, leak: {"─/\\/─", "[z]"}, fuse: {"─[~]─", "[~]"},
	contact: {"─┤ ├─", "[‖]"}, contactNC: {"─┤/├─", "[/]"}, coil: {"─( )─", "( )"}, coiled: {"─mmm─", "[m]"},
	transformer: {"─mmm─", "[m]"}, capacitor: {"─┤(──", "[(]"}, source: {"─(~)─", "(~)"},
	thermostat: {"o─T─o", "[T]"}, plain: {"o───o", "[o]"}, pressure: {"o─P─o", "[P]"}, temperature: {"o─T─o", "[T]"},
	level: {"o─F─o", "[F]"}, timed: {"o─D─o", "[D]"}, breaker: {"o─B─o", "[B]"}, overload: {"o─O─o", "[O]"}, disconnect: {"o─X─o", "[X]"},
}

func (g *grid) symbol(f *figure) {
	at := f.box.middle()
	if f.symbol == transformer && f.winding == whole {
		x, up, low := f.box.x0, f.box.y0-0.5, f.box.y1-0.5
		g.put(x, up, "┐   ┌")
		for y := up + 1; y < low; y++ {
			g.put(x, y, "│   │")
		}
		middle := math.Floor(at.y) - 0.5
		g.put(x, middle-1, "└mmm┘")
		g.put(x, middle, " ═══ ")
		g.put(x, middle+1, "┌mmm┐")
		g.put(x, low, "┘   └")
		return
	}
	shape := drawn[f.symbol]
	if f.absent {
		shape = [2]string{"─ ─ ─", " ╎ "}
	}
	if f.open {
		shape = [2]string{strings.Replace(shape[0], "─", "/", 1), strings.Replace(shape[1], "]", "/", 1)}
		if f.symbol == contact || f.symbol == contactNC {
			shape = drawn[f.symbol]
		}
	}
	if f.stands {
		g.put(at.x-1.5, at.y-0.5, shape[1])
		return
	}
	g.put(f.box.x0, at.y-0.5, shape[0])
}

// String is the screen without the blanks around what is on it.
func (g *grid) String() string {
	indent := math.MaxInt
	for _, row := range g.rows {
		if line := string(row); strings.TrimSpace(line) != "" {
			indent = min(indent, len(line)-len(strings.TrimLeft(line, " ")))
		}
	}
	var b strings.Builder
	for _, row := range g.rows {
		b.WriteString(strings.TrimRight(string(row[min(indent, len(row)):]), " "))
		b.WriteByte('\n')
	}
	return strings.Trim(b.String(), "\n") + "\n"
}
