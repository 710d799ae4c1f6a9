package dialog_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"proveout/dialog"
	"proveout/knowledge"
	"proveout/rules"
)

// TestEveryElectricalFaultIsFoundInWords plays each control and line fault as a
// technician who answers every question in a few words.
func TestEveryElectricalFaultIsFoundInWords(t *testing.T) {
	t.Parallel()
	base, err := knowledge.Load(knowledge.Embedded())
	require.NoError(t, err)
	agent, err := dialog.New(base, "split-cooling")
	require.NoError(t, err)
	model, err := rules.Compile(base, "split-cooling", nil)
	require.NoError(t, err)
	for _, truth := range model.Truths() {
		if len(base.Faults[truth.Fault].Effects) > 0 || processFault(base.Faults[truth.Fault]) {
			continue
		}
		t.Run(fmt.Sprintf("%s %d", strings.ReplaceAll(truth.Fault, "/", " "), truth.Degree), func(t *testing.T) {
			t.Parallel()
			called, talk := inWords(agent, "", base, model, truth, func(_ knowledge.ReadingID, v float64) float64 { return v })
			require.Equal(t, truth.Fault, called, talk)
		})
	}
}

// TestFaultsAreFoundOnUnitsThatDiffer plays the same on machines that are not the
// one the table was made for: other volts, amps, ohms and pressures, as sound
// machines differ.
func TestFaultsAreFoundOnUnitsThatDiffer(t *testing.T) {
	t.Parallel()
	base, err := knowledge.Load(knowledge.Embedded())
	require.NoError(t, err)
	agent, err := dialog.New(base, "split-cooling")
	require.NoError(t, err)
	model, err := rules.Compile(base, "split-cooling", nil)
	require.NoError(t, err)
	spread := map[string]float64{"voltage": 0.05, "current": 0.2, "resistance": 0.4, "capacitance": 0.015, "pressure": 0.08}
	games, found := 0, 0
	var lost []string
	for i, truth := range model.Truths() {
		if len(base.Faults[truth.Fault].Effects) > 0 || processFault(base.Faults[truth.Fault]) {
			continue
		}
		for unit := range 5 {
			off := unitOff(uint64(i), uint64(unit), spread)
			called, talk := inWords(agent, "", base, model, truth, off)
			games++
			if called == truth.Fault {
				found++
			} else {
				lost = append(lost, fmt.Sprintf("%s %d, unit %d: called %q\n%s", truth.Fault, truth.Degree, unit, called, talk))
			}
		}
	}
	t.Logf("found %d of %d", found, games)
	require.GreaterOrEqual(t, float64(found), 0.97*float64(games), strings.Join(lost[:min(3, len(lost))], "\n"))
}

// unitOff shifts each point of one unit by its own share.
func unitOff(a, b uint64, spread map[string]float64) func(knowledge.ReadingID, float64) float64 {
	share := map[knowledge.ReadingID]float64{}
	rng := rand.New(rand.NewPCG(a, b))
	return func(id knowledge.ReadingID, v float64) float64 {
		if _, ok := share[id]; !ok {
			share[id] = math.Exp(rng.NormFloat64() * spread[id.Quantity()])
		}
		return v * share[id]
	}
}

func processFault(f *knowledge.Fault) bool {
	for _, v := range f.Variants {
		if len(v.Effects) > 0 {
			return true
		}
	}
	return len(f.Modes)+len(f.Variants) == 0
}

// inWords talks to the call and gives it with the whole talk.
func inWords(agent *dialog.Agent, language string, base *knowledge.Base, model *rules.Model, truth rules.Truth, off func(knowledge.ReadingID, float64) float64) (called, talk string) {
	job := agent.Open()
	text := "no cooling"
	var b strings.Builder
	for range 50 {
		var reply *dialog.Reply
		job, reply = agent.Turn(job, dialog.Message{From: dialog.Tech, Text: text, Language: language})
		fmt.Fprintf(&b, "> %s\n%s\n\n", text, reply.Text)
		if reply.Call != nil && job.Asked == nil {
			return reply.Call.Fault, b.String()
		}
		if job.Asked == nil {
			return "", b.String()
		}
		text = answer(base, model, truth, job.Asked, off)
	}
	return "", b.String()
}

// answer is what such a technician texts.
func answer(base *knowledge.Base, model *rules.Model, truth rules.Truth, a *rules.Ask, off func(knowledge.ReadingID, float64) float64) string {
	if a.Fact != "" {
		return base.Facts[a.Fact].Default
	}
	it, ok := model.Answer(truth, a)
	switch {
	case !ok:
		return "can't reach it"
	case it.Subject != "":
		if o := base.Observations[it.Subject]; it.Seen == o.Yes {
			return "yes"
		}
		return strings.ReplaceAll(it.Seen, "-", " ")
	case math.IsInf(it.Value, 1):
		return "OL"
	}
	// A meter's display: what is nothing reads 0.
	return strconv.FormatFloat(math.Round(off(it.Reading, it.Value)*100)/100, 'f', -1, 64)
}
