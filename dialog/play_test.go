package dialog_test

import (
	"fmt"
	"math"
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
			called, talk := inWords(agent, base, model, truth)
			require.Equal(t, truth.Fault, called, talk)
		})
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
func inWords(agent *dialog.Agent, base *knowledge.Base, model *rules.Model, truth rules.Truth) (called, talk string) {
	job := agent.Open()
	text := "no cooling"
	var b strings.Builder
	for range 50 {
		var reply *dialog.Reply
		job, reply = agent.Turn(job, dialog.Message{From: dialog.Tech, Text: text})
		fmt.Fprintf(&b, "> %s\n%s\n\n", text, reply.Text)
		if reply.Call != nil && job.Asked == nil {
			return reply.Call.Fault, b.String()
		}
		if job.Asked == nil {
			return "", b.String()
		}
		text = answer(base, model, truth, job.Asked)
	}
	return "", b.String()
}

// answer is what such a technician texts.
func answer(base *knowledge.Base, model *rules.Model, truth rules.Truth, a *rules.Ask) string {
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
	return strconv.FormatFloat(math.Round(it.Value*100)/100, 'f', -1, 64)
}
