// Package ladder draws a unit's wiring as the trade does: a ladder diagram between
// rails, laid out from the netlist alone, so that a shop's new unit is drawn the
// moment its file is there.
//
// Components lie on the lines of a grid and words in its cells, so a wire can cross
// another wire and never a symbol or a label. Where the netlist is series and parallel
// the grid is a ladder of rails and rungs; what is neither still lies on the grid, each
// node a line of its own. The same grid is sized for a picture and for a terminal.
//
// The package's one law: what is connected in the drawing is what is connected in the
// netlist, and the same knowledge and marking give the same bytes.
package ladder
