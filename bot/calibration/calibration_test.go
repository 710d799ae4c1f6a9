package calibration_test

import (
	"encoding/xml"
	"io"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"proveout/bot"
	"proveout/bot/calibration"
	"proveout/dialog"
)

func said(from string) bot.Event { return bot.Event{Kind: bot.EventSaid, From: from} }

func answered(fault string, p float64, called bool) bot.Event {
	status := dialog.Measuring
	if called {
		status = dialog.Proposed
	}
	return bot.Event{Kind: bot.EventAnswered, Reply: &bot.Answer{Status: status, Fault: fault, Probability: p, Called: called}}
}

func closed(fault, verdict string) bot.Event {
	return bot.Event{Kind: bot.EventClosed, Fault: fault, Verdict: verdict}
}

func TestWhatTheAgentGaveIsHeldAgainstTheCause(t *testing.T) {
	t.Parallel()
	const a, b = "switch/open", "coil/open"
	tech, senior := said(dialog.Tech), said(dialog.Senior)
	for name, c := range map[string]struct {
		events []bot.Event
		want   []calibration.Sample
	}{
		"right": {
			[]bot.Event{tech, answered(b, 0.4, false), tech, answered(a, 0.97, true), tech, answered(a, 0.97, true), closed(a, bot.ClosedProven)},
			[]calibration.Sample{{Given: 0.4}, {Given: 0.97, Right: true, Call: true}},
		},
		"overruled": {
			[]bot.Event{tech, answered(a, 0.97, true), senior, answered(b, 0.2, true), closed(b, bot.ClosedProven)},
			[]calibration.Sample{{Given: 0.97, Call: true}},
		},
		"nothing proven": {[]bot.Event{tech, answered(a, 0.97, true), closed(a, bot.ClosedUnproven)}, nil},
		"still open":     {[]bot.Event{tech, answered(a, 0.97, true)}, nil},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			require.Equal(t, c.want, calibration.Samples(c.events))
		})
	}
}

func TestBinsAndTheDiagram(t *testing.T) {
	t.Parallel()
	var samples []calibration.Sample
	for n := range 100 {
		samples = append(samples, calibration.Sample{Given: 0.95, Right: n < 95}, calibration.Sample{Given: 0.15, Right: n < 15})
	}
	samples = append(samples, calibration.Sample{Given: 1, Right: true})
	bins := calibration.Bins(samples)
	require.Len(t, bins, 2)
	require.Equal(t, []int{100, 101}, []int{bins[0].N, bins[1].N})
	require.InDelta(t, 0.15, bins[0].Share, 1e-9)
	// Wilson's interval of 15 in 100, as tables give it.
	require.InDelta(t, 0.093, bins[0].Low, 0.001)
	require.InDelta(t, 0.233, bins[0].High, 0.001)
	require.InDelta(t, (100*0.95*0.05+100*0.15*0.85)/201, calibration.Brier(samples), 1e-9)

	var table, svg strings.Builder
	require.NoError(t, calibration.WriteTable(&table, bins))
	require.Contains(t, table.String(), "10-20 %      100      15.0 %     15.0 %   9-23 %")
	require.NoError(t, calibration.WriteSVG(&svg, bins))
	require.Equal(t, 2, strings.Count(svg.String(), "<circle"))
	d := xml.NewDecoder(strings.NewReader(svg.String()))
	for {
		_, err := d.Token()
		if err == io.EOF { //nolint:errorlint // the decoder gives it as it is
			break
		}
		require.NoError(t, err)
	}
}
