package main

import (
	"fmt"
	"io"
	"path/filepath"

	"github.com/spf13/cobra"

	"proveout/bot/ladder"
	"proveout/knowledge"
)

// pixels is how many of a picture's go to a CSS pixel: sharp on a phone.
const pixels = 2

func newDraw(std streams, opts *options) *cobra.Command {
	var equipment, ask, out, language string
	var dark bool
	cmd := &cobra.Command{
		Use:   "draw",
		Short: "Draw a unit's wiring as a ladder diagram",
		Long: `Draw lays out the wiring of a kind of machine from its netlist, a shop's own as well as
the built-in, and prints it as text; --out writes a picture instead, SVG, PNG or text by
the file's ending. --ask puts the meter where a reading is taken.

` + exitHelp,
		Example: `  proveout draw
  proveout draw --ask voltage/contactor-coil --out coil.svg
  proveout --knowledge ./our-shop draw --equipment split-with-lockout --out unit.png`,
		Args: cobra.NoArgs,
		RunE: func(*cobra.Command, []string) error {
			base, err := loadKnowledge(opts.knowledge...)
			if err != nil {
				return err
			}
			if language, err = spoken(base, language); err != nil {
				return err
			}
			base = base.In(language)
			var marking ladder.Marking
			if ask != "" {
				if marking.Meter, err = meterFor(base, equipment, knowledge.ReadingID(ask)); err != nil {
					return err
				}
			}
			d, err := ladder.Draw(base, equipment, marking)
			if err != nil {
				return err
			}
			if out == "" {
				_, err = io.WriteString(std.out, d.Text())
				return err
			}
			return drawInto(&d, out, dark)
		},
	}
	f := cmd.Flags()
	f.StringVar(&equipment, "equipment", "split-cooling", "the kind of machine, an `ID` under equipment/")
	f.StringVar(&ask, "ask", "", "put the meter where `READING` is taken, such as voltage/contactor-coil")
	f.StringVar(&out, "out", "", "write `FILE` instead: .svg, .png or .txt")
	f.BoolVar(&dark, "dark", false, "draw a picture light on dark")
	f.StringVar(&language, "language", "", "the `LANGUAGE` of names and words; English when none is given")
	return cmd
}

// meterFor says why a reading has no place in the circuit when it has none.
func meterFor(base *knowledge.Base, equipment string, reading knowledge.ReadingID) (*ladder.Meter, error) {
	if base.Measurements[reading] == nil {
		return nil, fmt.Errorf("there is no reading %q; the readings are those under measurements/", reading)
	}
	meter := ladder.MeterFor(base, equipment, reading)
	if meter == nil {
		return nil, fmt.Errorf("%s is not read in the wiring of %s; ask for a voltage, a resistance, a current or a capacitance it has", reading, equipment)
	}
	return meter, nil
}

// drawInto writes a drawing in the form its file's ending asks for.
func drawInto(d *ladder.Drawing, path string, dark bool) error {
	look := ladder.Light
	if dark {
		look = ladder.Dark
	}
	switch filepath.Ext(path) {
	case ".svg":
		return writeFile(path, func(w io.Writer) error { return d.SVG(w, look) })
	case ".png":
		return writeFile(path, func(w io.Writer) error { return d.PNG(w, look, pixels) })
	case ".txt":
		return writeFile(path, func(w io.Writer) error {
			_, err := io.WriteString(w, d.Text())
			return err
		})
	}
	return fmt.Errorf("what to draw into %s is not told by its ending; name a .svg, .png or .txt file", path)
}
