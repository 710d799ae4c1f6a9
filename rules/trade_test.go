package rules_test

import (
	"fmt"
	"maps"
	"math"
	"os"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/goccy/go-yaml"
	"github.com/stretchr/testify/require"

	"proveout/knowledge"
	"proveout/rules"
)

// tradeCase is one entry of testdata/trade.yaml, which explains the fields.
type tradeCase struct {
	Facts    map[string]string `yaml:"facts"`
	Told     []map[string]any  `yaml:"told"`
	RuledOut []string          `yaml:"ruled-out"`
	Standing []string          `yaml:"standing"`
	Leads    string            `yaml:"leads"`
	Never    []string          `yaml:"never"`
	Asks     []string          `yaml:"asks"`
	Calls    string            `yaml:"calls"`
	Truly    string            `yaml:"truly"`
}

func TestFactsOfTheTrade(t *testing.T) {
	t.Parallel()
	src, err := os.ReadFile("testdata/trade.yaml")
	require.NoError(t, err)
	var cases map[string]tradeCase
	require.NoError(t, yaml.UnmarshalWithOptions(src, &cases, yaml.Strict()))
	base, _ := splitCooling(t)
	for name, c := range cases {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			m, err := rules.Compile(base, "split-cooling", c.Facts)
			require.NoError(t, err)
			c.check(t, base, m)
		})
	}
}

func (c tradeCase) check(t *testing.T, base *knowledge.Base, m *rules.Model) {
	t.Helper()
	s := &rules.Situation{Facts: maps.Clone(c.Facts), State: knowledge.Calling}
	if s.Facts == nil {
		s.Facts = map[string]string{}
	}
	for _, told := range c.Told {
		for point, value := range told {
			s.Evidence = append(s.Evidence, item(t, base, point, fmt.Sprint(value)))
		}
	}
	d := m.Diagnose(s)
	out := map[string]bool{}
	for _, x := range d.RuledOut {
		out[x.Fault] = true
	}
	for _, f := range c.RuledOut {
		require.True(t, out[f], "%s is not ruled out; suspects %v", f, d.Suspects)
	}
	for _, f := range c.Standing {
		require.Contains(t, m.Faults(), f)
		require.False(t, out[f], "%s is ruled out", f)
	}
	if c.Leads != "" {
		require.Equal(t, c.Leads, d.Suspects[0].Fault, "suspects %v", d.Suspects)
	}
	if d.Call != nil {
		require.NotContains(t, c.Never, d.Call.Fault)
	}
	if c.Calls != "" {
		require.NotNil(t, d.Call)
		require.Equal(t, c.Calls, d.Call.Fault)
	}
	if c.Asks != nil {
		require.NotNil(t, d.Ask)
		require.Contains(t, c.Asks, d.Ask.Key())
	}
	if c.Truly != "" {
		require.Equal(t, c.Truly, playedOn(t, base, m, s, c.Truly))
	}
}

// item reads one line of what is told.
func item(t *testing.T, base *knowledge.Base, point, value string) rules.Item {
	t.Helper()
	what, state, _ := strings.Cut(point, "@")
	if o := base.Observations[what]; o != nil {
		require.Contains(t, o.Order, value, "%s", point)
		return rules.Item{Subject: what, Seen: value, State: state}
	}
	require.Contains(t, base.Measurements, knowledge.ReadingID(what))
	v := math.Inf(1)
	if value != "OL" {
		var err error
		v, err = strconv.ParseFloat(value, 64)
		require.NoError(t, err)
	}
	return rules.Item{Reading: knowledge.ReadingID(what), Value: v, State: state}
}

// playedOn lets the owner of a machine with a fault, in its likeliest degree,
// answer on to the call.
func playedOn(t *testing.T, base *knowledge.Base, m *rules.Model, s *rules.Situation, fault string) string {
	t.Helper()
	var truth rules.Truth
	for _, x := range m.Truths() {
		if x.Fault == fault && (truth.Fault == "" || m.Share(x) > m.Share(truth)) {
			truth = x
		}
	}
	require.Equal(t, fault, truth.Fault)
	s.CannotTake, s.Rechecked = map[string]bool{}, map[string]int{}
	for range 60 {
		d := m.Diagnose(s)
		if d.Call != nil {
			return d.Call.Fault
		}
		if d.Ask == nil {
			return ""
		}
		if d.Ask.Fact != "" {
			s.Facts[d.Ask.Fact] = base.Facts[d.Ask.Fact].Default
			continue
		}
		it, ok := m.Answer(truth, d.Ask)
		require.True(t, ok)
		if d.Ask.Purpose == rules.ToRecheck || d.Ask.Purpose == rules.ToConfirm {
			s.Rechecked[d.Ask.Key()]++
			s.Evidence = slices.Delete(slices.Clone(s.Evidence), d.Ask.Doubts, d.Ask.Doubts+1)
		}
		s.Evidence = append(s.Evidence, it)
		s.State, s.Place = d.Ask.State, m.Where(d.Ask)
	}
	return ""
}
