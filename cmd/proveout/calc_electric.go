package main

import (
	"fmt"
	"math"

	"github.com/spf13/cobra"

	"proveout/rules/electric"
	"proveout/rules/target"
)

func (c *calculating) electricalSide() []*cobra.Command {
	return []*cobra.Command{
		c.capacitorCommand(),
		c.command(computation{
			use:   "windings OHM OHM OHM",
			short: "Which of three compressor windings is which, and whether they add up",
			long: `Windings takes the resistances between the three terminals of a single-phase compressor,
power off and leads lifted, in any order: pair 1, 2 and 3. The least lies between common
and run, the largest between run and start, and the two smaller add up to it.

With OL among them, give them in the order C–S, C–R, R–S: it says what is open.`,
			example: `  proveout calc windings 0.8 2.4 3.2
  proveout calc windings OL OL 3.2ohm`,
			least: 3, most: 3, run: windings,
		}),
		c.command(computation{
			use:   "ground OHM",
			short: "How well a winding is insulated from the shell",
			long: `Ground holds the resistance from a compressor's terminal to bare metal against bands,
power off, leads off, and no vacuum on the shell.`,
			example: `  proveout calc ground 20Meg
  proveout calc ground OL`,
			least: 1, most: 1, run: ground,
		}),
		c.command(computation{
			use:   "transformer RATING VOLTS [AMPS]",
			short: "A transformer's rated current, and its load",
			long: `Transformer gives the current a transformer's secondary may give at its voltage, and with
the current measured how far it is loaded.`,
			example: `  proveout calc transformer 40VA 24V
  proveout calc transformer 40VA 25.5V 1.2A`,
			least: 2, most: 3, run: transformer,
		}),
		c.ampsCommand(),
	}
}

func (c *calculating) capacitorCommand() *cobra.Command {
	var tolerance, hertz string
	cmd := c.command(computation{
		use:   "capacitor AMPS VOLTS [MARKED] | CAPACITANCE MARKED",
		short: "Capacitance under load, and beside its marking",
		long: `Capacitor gives what a running capacitor holds by the current in the lead from it to the
start winding alone and the voltage across its own terminals, the machine running. With
the marking, or a measured capacitance and the marking, it is held against the band.`,
		example: `  proveout calc capacitor 4.2A 345V
  proveout calc capacitor 6.2A 370V 45mfd --tolerance 6%
  proveout calc capacitor 38uF 45uF`,
		least: 2, most: 3,
		run: func(s *sheet, args []string) (*answer, error) { return capacitor(s, args, tolerance, hertz) },
	})
	cmd.Flags().StringVar(&tolerance, "tolerance", "", "`PERCENT` the marking may be off either way; the usual one when not given")
	cmd.Flags().StringVar(&hertz, "frequency", "60Hz", "`FREQUENCY` of the supply")
	return cmd
}

func capacitor(s *sheet, args []string, tolerance, hertz string) (*answer, error) {
	a := newAnswer("µF = 10⁶ · A / (2π · Hz · V), at 60 Hz 2652.6 · A / V", "I = V · 2πf C")
	var held float64
	rest := args[2:]
	if _, err := s.says(args[0], "capacitance"); err == nil {
		held, rest = s.figure("capacitance", args[0]), args[1:]
		a = newAnswer("measured beside marked", "the marking")
	} else {
		current, voltage, f := s.figure("current", args[0]), s.figure("voltage", args[1]), s.flag("frequency", "frequency", hertz)
		if s.err != nil {
			return nil, s.err
		}
		if held, err = electric.Capacitance(current, voltage, f); err != nil {
			return nil, err
		}
	}
	a.add("capacitance_uf", "capacitance", held, microfarads)
	if len(rest) == 0 || s.err != nil {
		return a, s.err
	}
	if len(rest) > 1 {
		return nil, fmt.Errorf("%d figures given; write CAPACITANCE and MARKED", len(args))
	}
	marked := s.figure("capacitance", rest[0])
	var width electric.Tolerance
	if t := s.flag("share", "tolerance", tolerance); t >= 0 {
		width = electric.Tolerance{Minus: t, Plus: t}
	}
	if s.err != nil {
		return nil, s.err
	}
	checks, err := electric.NewChecks(s.base)
	if err != nil {
		return nil, err
	}
	found, err := checks.Capacitor(held, marked, width)
	if err != nil {
		return nil, err
	}
	a.add("marked_uf", "marked", marked, microfarads)
	a.add("difference_percent", "difference", found.Share, percent)
	a.add("low_uf", "band from", found.Band.Low, microfarads)
	a.add("high_uf", "band to", found.Band.High, microfarads)
	a.say("verdict", "verdict", map[target.Place]string{
		target.Within: "within its band", target.Below: "below its band: replace it", target.Above: "above its band: not the one it is marked to be",
		target.Edge: "too near the band's end for the meters to tell",
	}[found.Place])
	a.rest("tolerance: " + s.limit("capacitor-tolerance") + "; edge: " + s.limit("capacitor-doubt"))
	return a, nil
}

func windings(s *sheet, args []string) (*answer, error) {
	var ohm [3]float64
	read := true
	for i := range ohm {
		ohm[i] = s.figure("resistance", args[i])
		read = read && !math.IsInf(ohm[i], 1)
	}
	if s.err != nil {
		return nil, s.err
	}
	checks, err := electric.NewChecks(s.base)
	if err != nil {
		return nil, err
	}
	a := newAnswer("R–S = (C–S) + (C–R), C–R the least", s.limit("winding-sum-share", "winding-sum-floor"))
	if !read {
		state, _, err := checks.Windings(electric.Windings{CommonStart: ohm[0], CommonRun: ohm[1], RunStart: ohm[2]})
		if err != nil {
			return nil, err
		}
		a.add("common_start_ohm", "C–S", ohm[0], ohms)
		a.add("common_run_ohm", "C–R", ohm[1], ohms)
		a.add("run_start_ohm", "R–S", ohm[2], ohms)
		verdict := string(state)
		if state == electric.Unlikely {
			verdict += ": measure again, a lead was off"
		}
		a.say("verdict", "verdict", verdict)
		return a, nil
	}
	p, err := checks.Identify(ohm[0], ohm[1], ohm[2])
	if err != nil {
		return nil, err
	}
	pair := func(at int) written {
		return func(v float64) string { return fmt.Sprintf("%s, pair %d", ohms(v), at+1) }
	}
	a.add("common_run_ohm", "C–R", p.Run, pair(p.RunAt))
	a.add("common_start_ohm", "C–S", p.Start, pair(p.StartAt))
	a.add("run_start_ohm", "R–S", p.Both, pair(p.BothAt))
	a.add("off_ohm", "sum is off", p.Off, in(2, "Ω"))
	verdict := "they do not add up: a shorted turn, or a reading to take again"
	switch {
	case p.Sums && p.Alike:
		verdict = "they add up, run and start too alike to tell apart"
	case p.Sums:
		verdict = "they add up"
	}
	a.say("verdict", "verdict", verdict)
	return a, nil
}

func ground(s *sheet, args []string) (*answer, error) {
	ohm := s.figure("resistance", args[0])
	if s.err != nil {
		return nil, s.err
	}
	checks, err := electric.NewChecks(s.base)
	if err != nil {
		return nil, err
	}
	found, err := checks.Ground(ohm)
	if err != nil {
		return nil, err
	}
	edge := func(name string) string { return ohms(s.base.Limits[name].Value) }
	a := newAnswer(fmt.Sprintf("above %s good, to %s watch, to %s dry the system, to %s suspect, below that grounded",
		edge("ground-good"), edge("ground-watch"), edge("ground-dry"), edge("ground-fault")), s.limit("ground-good", "ground-fault"))
	a.add("ground_ohm", "to ground", ohm, ohms)
	a.say("verdict", "verdict", string(found))
	return a, nil
}

func transformer(s *sheet, args []string) (*answer, error) {
	rating, voltage, drawn := s.figure("rating", args[0]), s.figure("voltage", args[1]), 0.0
	if len(args) == 3 {
		drawn = s.figure("current", args[2])
	}
	if s.err != nil {
		return nil, s.err
	}
	load, err := electric.TransformerLoad(rating, voltage, drawn)
	if err != nil {
		return nil, err
	}
	a := newAnswer("full load A = VA / V; load = V · A / VA", "definition")
	a.add("full_load_a", "full load", load.Full, amps)
	if len(args) == 2 {
		return a, nil
	}
	a.add("drawn_va", "drawn", load.Drawn, in(1, "VA"))
	a.add("load_percent", "load", load.Share, percent)
	verdict := "within its rating"
	if load.Over {
		verdict = "over its rating"
	}
	a.say("verdict", "verdict", verdict)
	return a, nil
}

func (c *calculating) ampsCommand() *cobra.Command {
	var rated, locked string
	cmd := c.command(computation{
		use:   "amps AMPS",
		short: "A compressor's current against its rated-load and locked-rotor amps",
		long: `Amps holds a compressor's current against the plate. Near locked-rotor amps the motor
does not turn, or starts hard: the capacitor is proved before it is condemned.`,
		example: `  proveout calc amps 12.5A --rla 15A --lra 75A
  proveout calc amps 70A --lra 75A`,
		least: 1, most: 1,
		run: func(s *sheet, args []string) (*answer, error) { return againstPlate(s, args, rated, locked) },
	})
	cmd.Flags().StringVar(&rated, "rla", "", "rated-load `AMPS` on the plate")
	cmd.Flags().StringVar(&locked, "lra", "", "locked-rotor `AMPS` on the plate")
	return cmd
}

func againstPlate(s *sheet, args []string, rated, locked string) (*answer, error) {
	current, rla, lra := s.figure("current", args[0]), s.flag("current", "rla", rated), s.flag("current", "lra", locked)
	if s.err != nil {
		return nil, s.err
	}
	checks, err := electric.NewChecks(s.base)
	if err != nil {
		return nil, err
	}
	found, err := checks.Amps(current, orZero(rla), orZero(lra))
	if err != nil {
		return nil, err
	}
	a := newAnswer("amps / RLA, amps / LRA", s.limit("amps-locked"))
	a.add("amps_a", "amps", current, amps)
	if rla > 0 {
		a.add("of_rla_percent", "of RLA", found.OfRated, percent)
	}
	if lra > 0 {
		a.add("of_lra_percent", "of LRA", found.OfLocked, percent)
	}
	a.say("verdict", "verdict", string(found.Pull))
	return a, nil
}

// orZero is a figure that was given, else 0.
func orZero(v float64) float64 {
	if math.IsNaN(v) {
		return 0
	}
	return v
}
