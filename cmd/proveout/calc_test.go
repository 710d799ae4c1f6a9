package main

import (
	"bytes"
	"encoding/json"
	"math"
	"strings"
	"sync"
	"testing"

	"github.com/spf13/cobra"
	"github.com/stretchr/testify/require"

	"proveout/knowledge"
)

// embedded is the shipped knowledge, loaded once: nothing changes it.
var embedded = sync.OnceValues(func() (*knowledge.Base, error) { return knowledge.Load(knowledge.Embedded()) })

// calculate carries out one line that begins with proveout calc.
func calculate(t *testing.T, line string) (code int, out, errs string) {
	t.Helper()
	var stdout bytes.Buffer
	calc := (&calculating{std: streams{out: &stdout}, load: embedded}).computations()
	calc.SilenceErrors, calc.SilenceUsage = true, true
	calc.SetArgs(belowZero(strings.Fields(line)[1:])[1:])
	err := calc.Execute()
	if err != nil {
		errs = err.Error()
	}
	return exitCode(err), stdout.String(), errs
}

func eachComputation(t *testing.T, do func(*testing.T, *cobra.Command)) {
	t.Helper()
	calc, _, err := newRoot(streams{}).Find([]string{"calc"})
	require.NoError(t, err)
	require.NotEmpty(t, calc.Commands())
	for _, c := range calc.Commands() {
		t.Run(c.Name(), func(t *testing.T) {
			t.Parallel()
			do(t, c)
		})
	}
}

func TestEveryComputationExplainsItself(t *testing.T) {
	t.Parallel()
	eachComputation(t, func(t *testing.T, c *cobra.Command) {
		require.NotEmpty(t, c.Short, "one line for the list of computations")
		require.NotEmpty(t, c.Example, "examples to copy")
		require.Contains(t, c.Long, exitHelp, "the exit codes a script may rely on")
	})
}

// TestEveryExampleOfAComputationAnswers runs the examples of the help as they stand
// there, plain and as JSON.
func TestEveryExampleOfAComputationAnswers(t *testing.T) {
	t.Parallel()
	eachComputation(t, func(t *testing.T, c *cobra.Command) {
		for line := range strings.Lines(c.Example) {
			line = strings.TrimSpace(strings.ReplaceAll(line, "--json", ""))
			code, out, errs := calculate(t, line)
			require.Equal(t, exitOK, code, "%s: %s", line, errs)
			require.Contains(t, out, "formula  ", line)
			require.Contains(t, out, "source  ", line)
			code, out, errs = calculate(t, line+" --json")
			require.Equal(t, exitOK, code, "%s: %s", line, errs)
			var fields map[string]any
			require.NoError(t, json.Unmarshal([]byte(out), &fields), line)
			require.NotEmpty(t, fields["formula"])
			require.NotEmpty(t, fields["source"])
		}
	})
}

func TestAFigureMayBeSaidInAnyUnit(t *testing.T) {
	t.Parallel()
	for rule, lines := range map[string][]string{
		"pressure": {
			"saturation R-410A 118psig", "saturation r410a 118psi", "saturation 410A 118 psig", "saturation R-410A 118#", "saturation R-410A 132.696psia",
			"saturation R-410A 813.5816kPa", "saturation R-410A 914.907kPaa", "saturation R-410A 8.135816 bar", "saturation R-410A 9.14907bara",
		},
		"temperature":     {"wetbulb 80F 50%", "wetbulb 26.6666667C 50%", "wetbulb 80 50 percent", "wetbulb 80°F 50 %"},
		"below zero":      {"saturation R-22 -4F", "saturation R-22 -20C", "saturation R-22 −4F"},
		"altitude":        {"saturation R-22 95F --altitude 5000ft", "saturation R-22 95F --altitude 1524m", "saturation R-22 95F --altitude 5,000"},
		"electric":        {"capacitor 4.2A 345V 35mfd", "capacitor 4200mA 0.345kV 35uF", "capacitor 4.2 345 35"},
		"insulation":      {"ground 20Meg", "ground 20000k", "ground 20000000"},
		"nothing reading": {"ground OL", "ground inf", "ground open"},
		"static":          {"static 0.62", "static 0.32inwc -0.30", `static 0.62"`, "static 154.435Pa"},
		"power":           {"airflow 10kW 30F", "airflow 10000W 30F", "airflow 34130Btu/h 16.6666667K"},
	} {
		t.Run(rule, func(t *testing.T) {
			t.Parallel()
			_, want, errs := calculate(t, "proveout calc "+lines[0])
			require.NotEmpty(t, want, errs)
			for _, line := range lines[1:] {
				_, got, errs := calculate(t, "proveout calc "+line)
				require.Equal(t, want, got, "%s: %s", line, errs)
			}
		})
	}
}

// FuzzAFigureIsReadOrRefused holds the law that any text is a number in the kept unit
// or an error that says how to write it.
func FuzzAFigureIsReadOrRefused(f *testing.F) {
	base, err := embedded()
	require.NoError(f, err)
	quantities := []string{"pressure", "absolute pressure", "temperature", "resistance", "relative-humidity", "heat", "altitude"}
	for i, text := range []string{"118psig", "914 kPaa", "−4°F", "OL", "50%", "1,200.5Btu/h", ".", "-", "1,2,3", "", "9e9", "٣F", "NaN", "+∞", "0x1p4m"} {
		f.Add(uint8(i), text)
	}
	f.Fuzz(func(t *testing.T, which uint8, text string) {
		s := &sheet{base: base}
		v := s.figure(quantities[int(which)%len(quantities)], text)
		require.False(t, math.IsNaN(v))
		if s.err != nil {
			require.Zero(t, v)
			require.Regexp(t, "write|check the figure", s.err.Error())
		}
	})
}
