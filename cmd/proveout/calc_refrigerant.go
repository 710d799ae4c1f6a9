package main

import (
	"fmt"

	"github.com/spf13/cobra"

	"proveout/rules/refrigerant"
)

const saturationFormula = "between the table's rows ln p is straight in 1/T (Clausius–Clapeyron); psia = psig + atmosphere"

func (c *calculating) refrigerantSide() []*cobra.Command {
	return []*cobra.Command{
		c.command(computation{
			use:   "saturation REFRIGERANT PRESSURE|TEMPERATURE",
			short: "Saturation temperatures at a pressure, or pressures at a temperature",
			long: `Saturation gives where a refrigerant begins to boil (bubble, for subcooling) and to
condense (dew, for superheat) at a pressure, or both pressures at a temperature. A
refrigerant of one substance has one line for both.`,
			example: `  proveout calc saturation R-410A 118psig
  proveout calc saturation 454b 914kPaa
  proveout calc saturation R-22 95F --altitude 5000ft --json`,
			least: 2, most: 2, run: saturation,
		}),
		c.command(computation{
			use:   "superheat REFRIGERANT SUCTION-PRESSURE SUCTION-LINE",
			short: "Superheat: suction line less dew temperature",
			long: `Superheat is how far the suction line is above the temperature at which the refrigerant
condenses at the suction pressure.`,
			example: `  proveout calc superheat R-410A 118psig 64F
  proveout calc superheat R-22 68psig 12C --altitude 1500m`,
			least: 3, most: 3, run: superheat,
		}),
		c.command(computation{
			use:   "subcooling REFRIGERANT LIQUID-PRESSURE LIQUID-LINE",
			short: "Subcooling: bubble temperature less liquid line",
			long: `Subcooling is how far the liquid line is below the temperature at which the refrigerant
boils at the liquid pressure.`,
			example: `  proveout calc subcooling R-410A 410psig 98F
  proveout calc subcooling R-454B 27bar 37C --json`,
			least: 3, most: 3, run: subcooling,
		}),
	}
}

// table looks a refrigerant up.
func (s *sheet) table(text string) (*refrigerant.Table, string, error) {
	id := s.refrigerantID(text)
	if s.err != nil {
		return nil, "", s.err
	}
	table, err := refrigerant.New(s.base.Refrigerants[id])
	return table, id, err
}

func (s *sheet) saturated(id, formula string) *answer {
	a := newAnswer(formula, s.base.Refrigerants[id].Source)
	a.fields["refrigerant"] = id
	return a
}

// pressure shows a pressure as it was absolutely, and as a gauge reads it here.
func (s *sheet) pressure(a *answer, key, label string, psia float64) {
	gauge := refrigerant.Gauge(psia, s.atmosphere)
	a.add(key+"_psia", label, psia, func(float64) string {
		return fmt.Sprintf("%s at %s, %s", byGauge(gauge), feet(s.feet), absolutely(psia))
	})
	a.field(key+"_psig", gauge)
	a.field("altitude_ft", s.feet)
}

func saturation(s *sheet, args []string) (*answer, error) {
	table, id, err := s.table(args[0])
	if err != nil {
		return nil, err
	}
	kind, err := s.says(args[1], "pressure", "absolute pressure", "temperature")
	if err != nil {
		return nil, err
	}
	a := s.saturated(id, saturationFormula)
	if kind == "temperature" {
		return a, s.pressures(a, table, args[1])
	}
	psia := s.psia(args[1])
	if s.err != nil {
		return nil, s.err
	}
	bubble, err := table.BubbleTemperature(psia)
	if err != nil {
		return nil, err
	}
	dew, err := table.DewTemperature(psia)
	if err != nil {
		return nil, err
	}
	a.add("bubble_f", "bubble", bubble, degrees)
	a.add("dew_f", "dew", dew, degrees)
	s.pressure(a, "pressure", "at", psia)
	return a, nil
}

// pressures are the two saturation pressures at a temperature.
func (s *sheet) pressures(a *answer, table *refrigerant.Table, text string) error {
	f := s.f(text)
	if s.err != nil {
		return s.err
	}
	bubble, err := table.BubblePressure(f)
	if err != nil {
		return err
	}
	dew, err := table.DewPressure(f)
	if err != nil {
		return err
	}
	s.pressure(a, "bubble", "bubble", bubble)
	s.pressure(a, "dew", "dew", dew)
	a.add("temperature_f", "at", f, degrees)
	return nil
}

func superheat(s *sheet, args []string) (*answer, error) {
	return s.beside(args, "superheat", "suction line − dew temperature at the suction pressure; "+saturationFormula)
}

func subcooling(s *sheet, args []string) (*answer, error) {
	return s.beside(args, "subcooling", "bubble temperature at the liquid pressure − liquid line; "+saturationFormula)
}

// beside is superheat or subcooling: a line beside its saturation temperature. One
// that cannot be is questioned.
func (s *sheet) beside(args []string, name, formula string) (*answer, error) {
	table, id, err := s.table(args[0])
	if err != nil {
		return nil, err
	}
	psia, line := s.psia(args[1]), s.f(args[2])
	if s.err != nil {
		return nil, s.err
	}
	margins, err := refrigerant.NewMargins(s.base)
	if err != nil {
		return nil, err
	}
	a := s.saturated(id, formula)
	var found float64
	taken := refrigerant.NotTaken()
	if name == "superheat" {
		found, err = table.Superheat(psia, line)
		a.add("superheat_f", name, found, difference)
		a.add("dew_f", "dew", line-found, degrees)
		a.add("suction_line_f", "suction line", line, degrees)
		taken.Suction, taken.SuctionLine = psia, line
	} else {
		found, err = table.Subcooling(psia, line)
		a.add("subcooling_f", name, found, difference)
		a.add("bubble_f", "bubble", found+line, degrees)
		a.add("liquid_line_f", "liquid line", line, degrees)
		taken.Liquid, taken.LiquidLine = psia, line
	}
	if err != nil {
		return nil, err
	}
	s.pressure(a, "pressure", "pressure", psia)
	for _, d := range table.Doubts(taken, margins) {
		a.doubt(s.base.Phrases.Say("doubt-"+d.ID, d.Figures...) + "; " + s.base.Phrases.Say("slip-"+d.ID))
	}
	return a, nil
}
