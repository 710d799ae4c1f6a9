package main

import (
	"fmt"

	"github.com/spf13/cobra"

	"proveout/rules/air"
	"proveout/rules/target"
)

const (
	ashrae     = "ASHRAE Handbook, Fundamentals, ch. 1 (Psychrometrics, inch-pound)"
	wetFormula = "W = ((1093 − 0.556 wb) Ws(wb) − 0.240 (db − wb)) / (1093 + 0.444 db − wb) above freezing, W = 0.621945 pw / (p − pw)"
)

func (c *calculating) airSide() []*cobra.Command {
	return []*cobra.Command{
		c.command(computation{
			use:   "wetbulb DRY-BULB HUMIDITY|DEW-POINT",
			short: "Wet bulb, dew point and the rest of moist air from its humidity",
			long: `Wetbulb gives the wet bulb of air, and with it dew point, humidity ratio, enthalpy and
volume. Its moisture is said by relative humidity in %, or by dew point in °F or °C.`,
			example: `  proveout calc wetbulb 80F 50%
  proveout calc wetbulb 24C 55% --altitude 1600m --json`,
			least: 2, most: 2, run: wetBulb,
		}),
		c.command(computation{
			use:   "humidity DRY-BULB WET-BULB",
			short: "Relative humidity, dew point and the rest of moist air from its wet bulb",
			long: `Humidity gives the relative humidity of air by its dry and wet bulb, and with it dew
point, humidity ratio, enthalpy and volume.`,
			example: `  proveout calc humidity 75F 63F
  proveout calc humidity 26C 19C --altitude 5000ft`,
			least: 2, most: 2, run: humidity,
		}),
		c.command(computation{
			use:   "split RETURN [WET-BULB] SUPPLY",
			short: "Temperature split, and with the return wet bulb beside its target",
			long: `Split is return less supply dry bulb, the machine settled. With the return wet bulb
between the two it is held against its target: more than the tolerance above speaks
for low airflow; more than that below asks for the readings again, and then speaks for
low capacity where the airflow is right.`,
			example: `  proveout calc split 75F 63F 57F
  proveout calc split 24C 14C`,
			least: 2, most: 3, run: temperatureSplit,
		}),
		c.airflowCommand(),
		c.command(computation{
			use:   "heat AIRFLOW DIFFERENCE | AIRFLOW RETURN WET-BULB SUPPLY WET-BULB",
			short: "Heat an airflow carries: sensible, or total by two wet bulbs",
			long: `Heat gives the sensible heat of an airflow whose dry bulb changes by a difference; with
dry and wet bulb before and after it gives total, sensible and latent heat.`,
			example: `  proveout calc heat 1200cfm 20F
  proveout calc heat 1200cfm 75F 63F 57F 55F --altitude 5000ft`,
			least: 2, most: 5, run: heatCarried,
		}),
		c.staticCommand(),
	}
}

func wetBulb(s *sheet, args []string) (*answer, error) {
	kind, err := s.says(args[1], "relative-humidity", "temperature")
	if err != nil {
		return nil, err
	}
	dryBulb, moisture := s.f(args[0]), s.figure(kind, args[1])
	if s.err != nil {
		return nil, s.err
	}
	from := air.FromHumidity
	if kind == "temperature" {
		from = air.FromDewPoint
	}
	m, err := from(dryBulb, moisture, s.atmosphere)
	if err != nil {
		return nil, err
	}
	a := newAnswer(wetFormula, ashrae)
	a.add("wet_bulb_f", "wet bulb", m.WetBulb(), degrees)
	a.add("humidity_percent", "humidity", m.Humidity(), percent)
	return s.rest(a, m), nil
}

func humidity(s *sheet, args []string) (*answer, error) {
	dryBulb, wetBulb := s.f(args[0]), s.f(args[1])
	if s.err != nil {
		return nil, s.err
	}
	m, err := air.FromWetBulb(dryBulb, wetBulb, s.atmosphere)
	if err != nil {
		return nil, err
	}
	a := newAnswer(wetFormula, ashrae)
	a.add("humidity_percent", "humidity", m.Humidity(), percent)
	a.add("wet_bulb_f", "wet bulb", wetBulb, degrees)
	return s.rest(a, m), nil
}

// rest is everything else about air.
func (s *sheet) rest(a *answer, m air.Moist) *answer {
	a.add("dew_point_f", "dew point", m.DewPoint(), degrees)
	a.add("dry_bulb_f", "dry bulb", m.DryBulb, degrees)
	a.add("humidity_ratio_lb", "humidity ratio", m.Ratio, func(w float64) string {
		return fmt.Sprintf("%.5f lb/lb dry air (%.1f grains)", w, 7000*w)
	})
	a.add("enthalpy_btu_lb", "enthalpy", m.Enthalpy(), in(2, "Btu/lb dry air"))
	a.add("volume_ft3_lb", "volume", m.Volume(), in(3, "ft³/lb dry air"))
	a.add("atmosphere_psia", "atmosphere", m.Pressure, func(p float64) string {
		return absolutely(p) + " at " + feet(s.feet)
	})
	a.field("altitude_ft", s.feet)
	return a
}

func temperatureSplit(s *sheet, args []string) (*answer, error) {
	returned, supply := s.f(args[0]), s.f(args[len(args)-1])
	if s.err != nil {
		return nil, s.err
	}
	checks, err := air.NewChecks(s.base)
	if err != nil {
		return nil, err
	}
	if len(args) == 2 {
		found, err := air.Difference(returned, supply)
		a := newAnswer("return dry bulb − supply dry bulb", "definition")
		a.add("split_f", "split", found, difference)
		return a, err
	}
	wetBulb := s.f(args[1])
	if s.err != nil {
		return nil, s.err
	}
	split, err := checks.Split(returned, wetBulb, supply)
	if err != nil {
		return nil, err
	}
	a := newAnswer("return dry bulb − supply dry bulb; target by return dry and wet bulb, straight between the table's cells", split.Source)
	a.add("split_f", "split", split.Measured, difference)
	a.add("target_f", "target", split.Target, difference)
	a.add("difference_f", "difference", split.Difference, difference)
	a.add("tolerance_f", "tolerance", split.Tolerance, difference)
	a.say("verdict", "verdict", map[target.Place]string{
		target.Within: "within tolerance", target.Above: "above target: speaks for low airflow",
		target.Below: "below target: measure again; still so and the airflow right, it speaks for low capacity",
	}[split.Place])
	a.say("mark", "target is", split.Mark)
	return a, nil
}

func (c *calculating) airflowCommand() *cobra.Command {
	var tons string
	cmd := c.command(computation{
		use:   "airflow HEAT RISE | VOLTS AMPS RISE",
		short: "Airflow from electric heat, or a furnace's output, and the temperature rise",
		long: `Airflow is what the heat warms by the rise from return to supply: measured volts and
amps of the strips, or heat in kW or Btu/h that reaches the air (of a burner its
output). The blower runs on the speed it cools with; the supply is taken out of sight
of the elements. --tons adds the airflow for each ton.`,
		example: `  proveout calc airflow 240V 41.7A 30F --tons 3
  proveout calc airflow 10kW 30F
  proveout calc airflow 60000Btu/h 45F --altitude 5000ft`,
		least: 2, most: 3,
		run: func(s *sheet, args []string) (*answer, error) { return airflowFrom(s, args, tons) },
	})
	cmd.Flags().StringVar(&tons, "tons", "", "the machine's size, `TONS`")
	return cmd
}

func airflowFrom(s *sheet, args []string, size string) (*answer, error) {
	rise, tons := s.difference(args[len(args)-1]), s.flag("size", "tons", size)
	var btu float64
	if len(args) == 3 {
		btu = s.figure("voltage", args[0]) * s.figure("current", args[1]) * air.WattHeat
	} else {
		btu = s.figure("heat", args[0])
	}
	if s.err != nil {
		return nil, s.err
	}
	cfm, err := air.AirflowFromHeat(btu, rise, s.atmosphere)
	if err != nil {
		return nil, err
	}
	a := newAnswer("cfm = Btu/h / (1.08 · p/14.696 · rise); 1 W = 3.413 Btu/h", "60 min × 0.075 lb/ft³ × 0.24 Btu/lb·°F of standard air")
	a.add("airflow_cfm", "airflow", cfm, airflow)
	if tons > 0 {
		a.add("airflow_cfm_ton", "each ton", cfm/tons, in(0, "cfm/ton"))
		checks, err := air.NewChecks(s.base)
		if err != nil {
			return nil, err
		}
		if !checks.EnoughAirflow(cfm, tons) {
			a.note("not more than %g cfm a ton: put the airflow right before the charge is judged (%s)",
				s.base.Limits["charge-airflow-least"].Value, s.limit("charge-airflow-least"))
		}
	}
	a.add("heat_btuh", "heat", btu, heat)
	a.add("rise_f", "rise", rise, difference)
	a.add("factor", "factor here", air.SensibleFactor(s.atmosphere), in(3, "Btu/h for each cfm and °F"))
	a.field("altitude_ft", s.feet)
	return a, nil
}

func heatCarried(s *sheet, args []string) (*answer, error) {
	cfm := s.figure("airflow", args[0])
	a := newAnswer("sensible = 1.08 · p/14.696 · cfm · ΔT; total = 4.5 · p/14.696 · cfm · Δh", "60 min × 0.075 lb/ft³ × 0.24 Btu/lb·°F of standard air; "+ashrae)
	switch len(args) {
	case 2:
		d := s.difference(args[1])
		a.add("sensible_btuh", "sensible", air.SensibleHeat(cfm, d, s.atmosphere), heat)
		return a, s.err
	case 5:
	default:
		return nil, fmt.Errorf("%d figures given; write AIRFLOW DIFFERENCE, or AIRFLOW and dry and wet bulb before and after", len(args))
	}
	var t [4]float64
	for i := range t {
		t[i] = s.f(args[1+i])
	}
	if s.err != nil {
		return nil, s.err
	}
	before, err := air.FromWetBulb(t[0], t[1], s.atmosphere)
	if err != nil {
		return nil, fmt.Errorf("before: %w", err)
	}
	after, err := air.FromWetBulb(t[2], t[3], s.atmosphere)
	if err != nil {
		return nil, fmt.Errorf("after: %w", err)
	}
	total := air.TotalHeat(cfm, before.Enthalpy()-after.Enthalpy(), s.atmosphere)
	sensible := air.SensibleHeat(cfm, t[0]-t[2], s.atmosphere)
	a.add("total_btuh", "total", total, heat)
	a.add("sensible_btuh", "sensible", sensible, heat)
	a.add("latent_btuh", "latent", total-sensible, heat)
	a.add("sensible_percent", "sensible share", 100*sensible/total, percent)
	return a, nil
}

func (c *calculating) staticCommand() *cobra.Command {
	var rating string
	cmd := c.command(computation{
		use:   "static TOTAL | SUPPLY RETURN",
		short: "Total external static pressure beside the blower's rating",
		long: `Static adds the supply's and the return's static pressure, each without its sign, and
holds the total against the blower's rating, or the usual one when --rating is not
given.`,
		example: `  proveout calc static 0.32inwc -0.30inwc
  proveout calc static 190Pa --rating 0.5inwc`,
		least: 1, most: 2,
		run: func(s *sheet, args []string) (*answer, error) { return static(s, args, rating) },
	})
	cmd.Flags().StringVar(&rating, "rating", "", "the blower's rated total external static `PRESSURE`")
	return cmd
}

func static(s *sheet, args []string, plate string) (*answer, error) {
	total := s.figure("static-pressure", args[0])
	if len(args) == 2 {
		total = air.TotalStatic(total, s.figure("static-pressure", args[1]))
	}
	rating := s.flag("static-pressure", "rating", plate)
	if s.err != nil {
		return nil, s.err
	}
	checks, err := air.NewChecks(s.base)
	if err != nil {
		return nil, err
	}
	found, err := checks.Static(total, rating)
	if err != nil {
		return nil, err
	}
	a := newAnswer("total = supply + return, without their signs", s.limit("static-rated", "static-serious"))
	a.add("static_inwc", "total", found.Total, water)
	a.add("rating_inwc", "rating", found.Rating, water)
	a.add("serious_inwc", "serious above", found.Serious, water)
	a.say("verdict", "verdict", string(found.Strain))
	return a, nil
}
