package main

import (
	"fmt"
	"math"

	"github.com/spf13/cobra"

	"proveout/rules/charge"
	"proveout/rules/target"
)

func (c *calculating) chargeChecks() []*cobra.Command {
	return []*cobra.Command{
		c.command(computation{
			use:   "target-superheat OUTDOOR RETURN-WET-BULB",
			short: "The superheat a fixed orifice should have",
			long: `Target-superheat looks up what the superheat of a fixed orifice or capillary should be,
by the outdoor dry bulb and the return wet bulb. Where the table is blank there is no
target: no valid test can be made there.`,
			example: `  proveout calc target-superheat 95F 67F
  proveout calc target-superheat 35C 19.5C --json`,
			least: 2, most: 2, run: targetSuperheat,
		}),
		c.chargeCommand(),
	}
}

func targetSuperheat(s *sheet, args []string) (*answer, error) {
	outdoor, wetBulb := s.f(args[0]), s.f(args[1])
	if s.err != nil {
		return nil, s.err
	}
	checks, err := charge.NewChecks(s.base)
	if err != nil {
		return nil, err
	}
	at, err := checks.TargetSuperheat(outdoor, wetBulb)
	if err != nil {
		return nil, err
	}
	mark, source := checks.TargetTable()
	a := newAnswer("a table by outdoor dry bulb and return wet bulb, straight between its cells", source)
	a.add("target_superheat_f", "target superheat", at, difference)
	a.add("outdoor_f", "outdoor", outdoor, degrees)
	a.add("return_wet_bulb_f", "return wet bulb", wetBulb, degrees)
	a.add("rule_of_thumb_f", "rule of thumb", (3*wetBulb-80-outdoor)/2, func(v float64) string {
		return difference(v) + ", (3·WB − 80 − DB)/2, common practice"
	})
	a.say("mark", "table is", mark)
	return a, nil
}

// charging are the flags of charge.
type charging struct {
	outdoor, returned, wetBulb, running, airflow string
	superheat, subcooling, plate                 string
}

func (c *calculating) chargeCommand() *cobra.Command {
	var x charging
	cmd := c.command(computation{
		use:   "charge fixed-orifice|txv",
		short: "Judge a charge by the published procedure, where its conditions hold",
		long: `Charge holds the superheat of a fixed orifice against its target, or the subcooling of
an expansion valve against the plate. It judges only where the procedure holds: the
airflow verified first, the machine settled, warm enough outside and inside, a target
that exists. What is not given does not hold. Where a condition fails each is named,
nothing is judged, and the exit code is 1.

Even then it is one sign of two: a charge is called wrong only with a second,
independent one.`,
		example: `  proveout calc charge fixed-orifice --superheat 22F --outdoor 95F --return 78F --wet-bulb 67F --running 15min --airflow verified
  proveout calc charge txv --subcooling 4F --plate 10F --superheat 12F --outdoor 95F --return 78F --running 15min --airflow verified`,
		least: 1, most: 1,
		run: func(s *sheet, args []string) (*answer, error) { return x.judge(s, args[0]) },
	})
	f := cmd.Flags()
	f.StringVar(&x.outdoor, "outdoor", "", "`TEMPERATURE` of the air entering the outdoor coil")
	f.StringVar(&x.returned, "return", "", "return dry bulb `TEMPERATURE`")
	f.StringVar(&x.wetBulb, "wet-bulb", "", "return wet bulb `TEMPERATURE`")
	f.StringVar(&x.running, "running", "", "`TIME` it has run since the start or the last change of charge")
	f.StringVar(&x.airflow, "airflow", string(charge.NotVerified), "what is known of the airflow: `verified`, low, or not verified")
	f.StringVar(&x.superheat, "superheat", "", "measured superheat, a temperature `DIFFERENCE`")
	f.StringVar(&x.subcooling, "subcooling", "", "measured subcooling, a temperature `DIFFERENCE`")
	f.StringVar(&x.plate, "plate", "", "subcooling on the plate, a temperature `DIFFERENCE`")
	return cmd
}

func (x *charging) judge(s *sheet, device string) (*answer, error) {
	setting := charge.Setting{
		Outdoor: s.flag("temperature", "outdoor", x.outdoor), ReturnDryBulb: s.flag("temperature", "return", x.returned),
		ReturnWetBulb: s.flag("temperature", "wet-bulb", x.wetBulb), Minutes: s.flag("time", "running", x.running),
		Airflow: charge.Airflow(x.airflow),
	}
	superheat, subcooling := s.flag("superheat", "superheat", x.superheat), s.flag("subcooling", "subcooling", x.subcooling)
	plate := s.flag("subcooling", "plate", x.plate)
	if s.err != nil {
		return nil, s.err
	}
	switch setting.Airflow {
	case charge.Verified, charge.Low, charge.NotVerified:
	default:
		return nil, fmt.Errorf("--airflow %q is not known; write verified, low or \"not verified\"", x.airflow)
	}
	checks, err := charge.NewChecks(s.base)
	if err != nil {
		return nil, err
	}
	switch device {
	case "fixed-orifice":
		return s.judged("superheat", checks.FixedOrifice(setting, superheat)), nil
	case "txv":
		return s.judged("subcooling", checks.ExpansionValve(setting, subcooling, plate, superheat)), nil
	}
	return nil, fmt.Errorf("there is no metering device %q; write fixed-orifice or txv", device)
}

func (s *sheet) judged(name string, v charge.Verdict) *answer {
	a := newAnswer(name+" − target, held to the tolerance", v.Source)
	show := func(key, label string, f float64) {
		if !math.IsNaN(f) {
			a.add(key, label, f, difference)
		}
	}
	show(name+"_f", name, v.Measured)
	show("target_f", "target", v.Target)
	show("difference_f", "difference", v.Difference)
	show("tolerance_f", "tolerance", v.Tolerance)
	a.say("mark", "target is", v.Mark)
	var unmet []map[string]string
	for _, c := range v.Unmet {
		what, mend := s.base.Phrases.Say("unmet-"+c.Name(), c.Figures...), s.base.Phrases.Say("mend-"+c.Name(), c.Figures...)
		unmet = append(unmet, map[string]string{"condition": string(c.ID), "what": what, "mend": mend})
		a.labels, a.lines = append(a.labels, "not met"), append(a.lines, what+"; "+mend)
	}
	a.fields["unmet"] = unmet
	if len(v.Unmet) > 0 {
		a.doubt("the charge is not judged: " + count(len(v.Unmet), "condition") + " not met")
	}
	if v.Call != charge.NotJudged {
		a.say("verdict", "verdict", string(v.Call))
		a.note("one sign of two: a charge is called wrong only with a second, independent one")
	}
	if v.Settling {
		a.note("read again when it has run %g minutes", s.base.Limits["charge-settled-fully"].Value)
	}
	if v.Valve != "" {
		a.say("valve", "valve", map[target.Place]string{
			target.Within: "in control", target.Below: "superheat too low: the valve floods", target.Above: "superheat too high: the valve is starved",
		}[v.Valve])
	}
	return a
}
