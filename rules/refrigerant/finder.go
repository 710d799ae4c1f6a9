package refrigerant

import "math"

// cellsMost bounds the grid of a finder, whatever a table's rows are.
const cellsMost = 4096

// finder finds the interval of rising numbers that a value is in: a uniform grid
// over their span tells the interval each cell begins in, and with cells no wider
// than the narrowest interval at most one step is left.
type finder struct {
	at      []float64
	begins  []int32
	low     float64
	perUnit float64 // cells
}

func newFinder(at []float64) finder {
	span, narrowest := at[len(at)-1]-at[0], math.Inf(1)
	for i := range len(at) - 1 {
		narrowest = min(narrowest, at[i+1]-at[i])
	}
	cells := min(math.Ceil(span/narrowest), cellsMost)
	f := finder{at: at, low: at[0], perUnit: cells / span}
	interval := 0
	for c := range int(cells) {
		for interval+2 < len(at) && at[interval+1] <= f.low+float64(c)/f.perUnit {
			interval++
		}
		f.begins = append(f.begins, int32(interval))
	}
	return f
}

// find gives the place of the last number not above x, of those that have a next
// one. x lies within the span.
func (f *finder) find(x float64) int {
	i := int(f.begins[min(int((x-f.low)*f.perUnit), len(f.begins)-1)])
	for i+2 < len(f.at) && f.at[i+1] <= x {
		i++
	}
	return i
}
