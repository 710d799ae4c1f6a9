package main

import (
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"
)

// lockout is a unit no other shop has.
const lockout = `
split-with-lockout:
  name: split cooling system with a lockout switch
  extends: split-cooling
  source: wiring label inside the panel
  nodes:
    lockout-out: {colour: yellow, place: outdoor, name: the load side of the lockout switch, common: c-od}
  components:
    - {id: lockout-switch, kind: switch, name: lockout switch, nodes: [timer-out, lockout-out], place: outdoor}
    - {id: control-wiring, nodes: [lockout-out, coil-in]}
`

// keepLockout has the unit in a shop's folder of knowledge.
func keepLockout(t testing.TB, dir string) {
	t.Helper()
	keepFile(t, filepath.Join(dir, "equipment", "own.yaml"), lockout)
}

func TestPagesAreToldOfTheShopsOwnFilesAndOfNoOthers(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	keepLockout(t, dir)
	changed := changedIn([]string{dir})
	require.False(t, changed("equipment/own.yaml").IsZero())
	require.True(t, changed("circuits/control.yaml").IsZero())

	require.Nil(t, checkedIn(nil), "there is nothing of the shop's own to say anything about")
	lines := checkedIn([]string{dir})()
	require.NotEmpty(t, lines, "a switch nobody has words for")
	for _, line := range lines {
		require.Contains(t, line, "own.yaml")
	}
}
