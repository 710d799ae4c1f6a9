package ladder

import "slices"

// zone is a stretch of cells whose parts are in one place.
type zone struct {
	place string
	cells []*cell
}

// gapOf is the gap a cell's words lie in.
func (p *plot) gapOf(c *cell) point {
	if c.down && (c.left && c.at.c > 0 || c.at.c == p.b.w) {
		return point{c.at.c - 1, c.at.r}
	}
	return c.at
}

// zones groups cells that lie beside or below one another and belong to one place, in
// reading order.
func (p *plot) zones() []*zone {
	var out []*zone
	of := map[*cell]*zone{}
	for i := range p.b.cells {
		c := &p.b.cells[i]
		if c.e.part.place == "" || p.joins(c) {
			continue
		}
		z := &zone{c.e.part.place, []*cell{c}}
		for j := range i {
			o := &p.b.cells[j]
			if old := of[o]; old != nil && old != z && old.place == z.place && p.touching(c, o) {
				z.cells = append(old.cells, z.cells...)
				out = slices.DeleteFunc(out, func(x *zone) bool { return x == old })
				for _, m := range z.cells {
					of[m] = z
				}
			}
		}
		of[c] = z
		out = append(out, z)
	}
	return out
}

// touching says whether two cells' areas share an edge of the grid.
func (p *plot) touching(a, b *cell) bool {
	x, y := p.gapOf(a), p.gapOf(b)
	switch {
	case a.down == b.down:
		return x.c == y.c && abs(x.r-y.r) == 1 || x.r == y.r && abs(x.c-y.c) == 1
	case a.down:
		return x.c == y.c && (y.r == x.r || y.r == x.r+1)
	default:
		return p.touching(b, a)
	}
}

func abs(i int) int { return max(i, -i) }

// area is a cell's own.
func (p *plot) area(c *cell) area {
	g := p.gapOf(c)
	if !c.down {
		return area{p.x[g.c], p.y[g.r] - p.ups[g.r], p.x[g.c+1], p.y[g.r] + p.lows[g.r]}
	}
	a := area{p.x[g.c], p.y[g.r], p.x[g.c+1], p.y[g.r+1]}
	if g.c == c.at.c {
		a.x0 -= p.m.wide + 3
	} else {
		a.x1 += p.m.wide + 3
	}
	return a
}

// grounds are the areas of a zone, those below one another grown together.
func (p *plot) grounds(z *zone) []area {
	var out []area
	for _, c := range z.cells {
		a := p.area(c)
		for _, o := range z.cells {
			if b := p.area(o); o != c && p.touching(c, o) && b.y0 >= a.y1 && b.y0-a.y1 < 3*p.m.row+p.mids[c.at.r] {
				a.y1 = b.y0
			}
		}
		out = append(out, a)
	}
	return out
}
