package main

import (
	"errors"
	"fmt"

	"github.com/spf13/cobra"

	"proveout/rules/electric"
	"proveout/rules/target"
)

func (c *calculating) supplySide() []*cobra.Command {
	return []*cobra.Command{
		c.command(computation{
			use:   "imbalance VOLTS VOLTS [VOLTS]",
			short: "Imbalance of three phases, or of two legs to ground",
			long: `Imbalance takes the three line-to-line voltages of a three-phase supply: the largest
deviation from the mean over the mean. With two it compares the legs of a house, L1 and
L2 to ground; L1 to L2 is measured too, since a lost leg can be fed back through a
winding.`,
			example: `  proveout calc imbalance 240V 236V 225V
  proveout calc imbalance 121V 117V`,
			least: 2, most: 3, run: imbalance,
		}),
		c.supplyCommand(),
		c.dropCommand(),
	}
}

func imbalance(s *sheet, args []string) (*answer, error) {
	var v []float64
	for _, text := range args {
		v = append(v, s.figure("voltage", text))
	}
	if s.err != nil {
		return nil, s.err
	}
	checks, err := electric.NewChecks(s.base)
	if err != nil {
		return nil, err
	}
	if len(v) == 2 {
		found, err := checks.Legs(v[0], v[1])
		if err != nil {
			return nil, err
		}
		a := newAnswer("100 · |L1 − L2| / mean, each to ground", s.limit("legs-apart", "leg-lost"))
		a.add("difference_percent", "difference", found.Share, percent)
		a.say("verdict", "verdict", string(found.Balance))
		a.note("measure L1 to L2 too: a lost leg can be fed back through a winding")
		return a, nil
	}
	found, err := checks.Imbalance(v[0], v[1], v[2])
	if err != nil {
		return nil, err
	}
	a := newAnswer("100 · largest deviation from the mean / mean", s.limit("imbalance-keep", "imbalance-stop"))
	a.add("imbalance_percent", "imbalance", found.Share, percent)
	a.add("mean_v", "mean", found.Mean, volts)
	a.add("deviation_v", "deviation", found.Deviation, func(d float64) string {
		return fmt.Sprintf("%s, at %s", volts(d), volts(v[found.Worst]))
	})
	a.say("verdict", "verdict", string(found.Balance))
	return a, nil
}

func (c *calculating) supplyCommand() *cobra.Command {
	var rated string
	cmd := c.command(computation{
		use:   "supply VOLTS",
		short: "A supply's voltage against the range of the equipment",
		long: `Supply holds a voltage, the machine running, against the range of 208/230 V equipment,
or around --rated, the voltage on the plate.`,
		example: `  proveout calc supply 212V
  proveout calc supply 440V --rated 460V`,
		least: 1, most: 1,
		run: func(s *sheet, args []string) (*answer, error) { return supply(s, args, rated) },
	})
	cmd.Flags().StringVar(&rated, "rated", "", "rated `VOLTS` on the plate")
	return cmd
}

func supply(s *sheet, args []string, plate string) (*answer, error) {
	v, rated := s.figure("voltage", args[0]), s.flag("voltage", "rated", plate)
	if s.err != nil {
		return nil, s.err
	}
	checks, err := electric.NewChecks(s.base)
	if err != nil {
		return nil, err
	}
	band, err := checks.Supply(orZero(rated))
	if err != nil {
		return nil, err
	}
	formula, source := "the range of 208/230 V equipment", s.limit("supply-least", "supply-most")
	if plate != "" {
		formula, source = "rated voltage ± the motor's tolerance", s.limit("motor-voltage-band")
	}
	a := newAnswer(formula, source)
	a.add("voltage_v", "supply", v, volts)
	a.add("low_v", "from", band.Low, volts)
	a.add("high_v", "to", band.High, volts)
	a.say("verdict", "verdict", map[target.Place]string{target.Within: "within range", target.Below: "low", target.Above: "high"}[band.Place(v, 0)])
	return a, nil
}

func (c *calculating) dropCommand() *cobra.Command {
	return c.command(computation{
		use:   "drop VOLTS-BEFORE VOLTS-THEN | AMPS OHM [VOLTS-BEFORE]",
		short: "Voltage lost while starting, or along a run of wire",
		long: `Drop compares the voltage before with the voltage while starting, or at the source with
that at the load. With amps and ohms, there and back, it gives what a run of wire
loses.`,
		example: `  proveout calc drop 242V 210V
  proveout calc drop 24A 0.1ohm 240V`,
		least: 2, most: 3, run: drop,
	})
}

func drop(s *sheet, args []string) (*answer, error) {
	first, err := s.says(args[0], "voltage", "current")
	if err != nil {
		return nil, err
	}
	if first == "voltage" && len(args) == 3 {
		return nil, errors.New("three figures given; write VOLTS-BEFORE VOLTS-THEN, or AMPS OHM VOLTS-BEFORE, such as 24A 0.1ohm 240V")
	}
	if first == "current" {
		return dropAlong(s, args)
	}
	before, then := s.figure("voltage", args[0]), s.figure("voltage", args[1])
	if s.err != nil {
		return nil, s.err
	}
	checks, err := electric.NewChecks(s.base)
	if err != nil {
		return nil, err
	}
	found, err := checks.Drop(before, then)
	if err != nil {
		return nil, err
	}
	a := newAnswer("before − then, over before", s.limit("start-sag-most"))
	a.add("drop_v", "drop", found.Volts, in(2, "V"))
	a.add("drop_percent", "share", found.Share, percent)
	verdict := "a start may take that"
	if found.Much {
		verdict = "more than a start may take: supply, connections, or a compressor that starts hard"
	}
	a.say("verdict", "verdict", verdict)
	return a, nil
}

// dropAlong is what a run of wire loses.
func dropAlong(s *sheet, args []string) (*answer, error) {
	a := newAnswer("A · Ω", "Ohm's law")
	lost := electric.DropAlong(s.figure("current", args[0]), s.figure("resistance", args[1]))
	a.add("drop_v", "drop", lost, in(2, "V"))
	if len(args) == 3 {
		a.add("drop_percent", "share", 100*lost/s.figure("voltage", args[2]), percent)
	}
	return a, s.err
}
