package rules_test

import (
	"testing"
	"testing/fstest"

	"github.com/stretchr/testify/require"

	"proveout/knowledge"
	"proveout/rules"
	"proveout/rules/prove"
)

// guarded is a unit a shop describes in YAML alone: more parts in series before
// the contactor's coil, of every kind that brings its own faults.
const guarded = `
guarded:
  name: split cooling with a guarded compressor
  extends: split-cooling
  source: invented for this test
  nodes:
    dts-out: {colour: yellow, place: outdoor, name: the load side of the discharge-temperature switch, common: c-od}
    relay-out: {colour: yellow, place: outdoor, name: the load side of the control relay, common: c-od}
    fuse-out: {colour: yellow, place: outdoor, name: the load side of the inline fuse, common: c-od}
    lead-out: {colour: yellow, place: outdoor, name: the far end of the jumper lead, common: c-od}
    backup-out: {colour: yellow, place: outdoor, name: the load side of the backup switch, common: c-od}
  components:
    - {id: discharge-switch, kind: switch, name: discharge-temperature switch, nodes: [hps-out, dts-out], place: outdoor}
    - {id: relay-coil, kind: coil, name: control relay's coil, nodes: [dts-out, c-od], pull-in: 18, drop-out: 9, place: outdoor}
    - {id: relay-contact, kind: contact, name: control relay's contact, nodes: [dts-out, relay-out], closed: [{energised: relay-coil}], place: outdoor}
    - {id: inline-fuse, kind: fuse, name: inline fuse, nodes: [relay-out, fuse-out], place: outdoor}
    - {id: jumper-lead, kind: wire, name: jumper lead, nodes: [fuse-out, lead-out], place: outdoor}
    - id: backup-switch
      kind: switch
      name: backup pressure switch
      nodes: [lead-out, backup-out]
      trips: [{process: pressure/liquid, at-least: 640}]
      reset: automatic
      slow: true
      place: outdoor
    - {id: delay-timer, nodes: [backup-out, timer-out]}
`

func guardedUnit(t *testing.T) (*knowledge.Base, *rules.Model) {
	t.Helper()
	base, err := knowledge.Load(knowledge.Embedded(), fstest.MapFS{"equipment/guarded.yaml": {Data: []byte(guarded)}})
	require.NoError(t, err)
	m, err := rules.Compile(base, "guarded", nil)
	require.NoError(t, err)
	return base, m
}

func TestALineInTheNetlistIsAllANewPartTakesToBeDiagnosedProvenAndCalled(t *testing.T) {
	t.Parallel()
	base, m := guardedUnit(t)
	for _, fault := range []string{
		"discharge-switch/open", "relay-coil/open", "relay-coil/shorted", "relay-contact/stuck-open",
		"inline-fuse/open", "jumper-lead/open", "backup-switch/open",
	} {
		t.Run(fault, func(t *testing.T) {
			t.Parallel()
			f := base.Faults[fault]
			require.NotNil(t, f)
			require.True(t, f.Derived)
			require.NotEmpty(t, f.Cautions)
			for _, step := range f.Proof {
				require.NotEmpty(t, step.AnyOf, "every step can be met")
			}
			tab, err := prove.Run(m, base, prove.Options{Faults: []string{fault}})
			require.NoError(t, err)
			require.Empty(t, tab.Failures())
			require.Equal(t, 1, tab.Rows[0].Found, "called %v", tab.Rows[0].Called)
			require.True(t, tab.Rows[0].Results[0].Proven)
		})
	}
}

func TestTheRestOfAGuardedUnitIsFoundAsBefore(t *testing.T) {
	t.Parallel()
	base, m := guardedUnit(t)
	tab, err := prove.Run(m, base, prove.Options{})
	require.NoError(t, err)
	require.Empty(t, tab.Failures())
}

func TestAProtectiveSwitchIsNotBlamedBeforeWhatItWatchesWasRead(t *testing.T) {
	t.Parallel()
	base, m := guardedUnit(t)
	tab, err := prove.Run(m, base, prove.Options{Faults: []string{"backup-switch/open"}})
	require.NoError(t, err)
	read := false
	for _, s := range tab.Rows[0].Results[0].Steps {
		read = read || s.Ask.Reading == "pressure/liquid"
	}
	require.True(t, read, "the head pressure was read on the way to the call")
}

func TestAPartOfAnotherUnitIsNoSuspectHere(t *testing.T) {
	t.Parallel()
	base, _ := guardedUnit(t)
	m, err := rules.Compile(base, "split-cooling", nil)
	require.NoError(t, err)
	_, plain := splitCooling(t)
	require.Equal(t, plain.Faults(), m.Faults())
}

func TestWhatNothingProvesIsNeverCalled(t *testing.T) {
	t.Parallel()
	base, err := knowledge.Load(knowledge.Embedded())
	require.NoError(t, err)
	bare := *base.Faults["contactor-coil/open"]
	bare.Proof = nil
	base.Faults["contactor-coil/open"] = &bare
	m, err := rules.Compile(base, "split-cooling", nil)
	require.NoError(t, err)
	tab, err := prove.Run(m, base, prove.Options{Faults: []string{"contactor-coil/open"}})
	require.NoError(t, err)
	require.NotContains(t, tab.Rows[0].Called, "contactor-coil/open")
}
