package slack_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"proveout/adapters/conformance"
)

func TestEveryLawOfAdaptersHolds(t *testing.T) {
	t.Parallel()
	for name, web := range map[string]byHTTP{"by the socket": false, "by HTTP": true} {
		for _, law := range conformance.Laws() {
			t.Run(name+"/"+law.Name, func(t *testing.T) {
				t.Parallel()
				desk := &conformance.Desk{}
				s := open(t, desk, nil, web)
				require.NoError(t, law.Check(t.Context(), conformance.Channel{
					Desk: desk, Sender: s.adapter, Conversation: room,
					People: &technician{server: s.Server}, Carrier: carrier{s.Server},
				}))
			})
		}
	}
}
