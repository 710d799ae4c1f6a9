package dialog

import (
	"errors"
	"sync"
	"testing"

	"github.com/stretchr/testify/require"

	"proveout/rules"
)

func TestAModelIsMadeOnceAndNobodyWaitsForAnothers(t *testing.T) {
	t.Parallel()
	kept, slow := newModels(2), make(chan struct{})
	made := 0
	var all sync.WaitGroup
	for range 8 {
		all.Go(func() {
			kept.get("slow", nil, func() (*rules.Model, error) {
				<-slow
				made++
				return &rules.Model{}, nil
			})
		})
	}
	usual := &rules.Model{}
	require.Same(t, usual, kept.get("none", usual, func() (*rules.Model, error) { return nil, errors.New("no such unit") }), "while the slow one is made")
	close(slow)
	all.Wait()
	require.Equal(t, 1, made)

	again := func() (*rules.Model, error) { made++; return &rules.Model{}, nil }
	kept.get("slow", nil, again)
	require.Equal(t, 1, made, "it is kept")
	kept.get("two", nil, again)
	kept.get("slow", nil, again)
	kept.get("three", nil, again)
	kept.get("slow", nil, again)
	require.Equal(t, 3, made, "what is used is kept")
	kept.get("two", nil, again)
	require.Equal(t, 4, made, "what is not is forgotten")
}
