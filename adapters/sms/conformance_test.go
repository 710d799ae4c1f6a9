package sms_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"proveout/adapters/conformance"
)

func TestEveryLawOfAdaptersHolds(t *testing.T) {
	t.Parallel()
	for _, law := range conformance.Laws() {
		t.Run(law.Name, func(t *testing.T) {
			t.Parallel()
			desk := &conformance.Desk{}
			l := open(t, desk)
			require.NoError(t, law.Check(t.Context(), conformance.Channel{
				Desk: desk, Sender: l.adapter, Conversation: ana, People: &technician{line: l}, Carrier: carrier{l},
			}))
		})
	}
}
