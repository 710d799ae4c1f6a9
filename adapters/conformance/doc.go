// Package conformance holds the laws every adapter keeps, whatever its network: what
// comes in keeps its id, order and text and is acknowledged only when stored; what
// goes out arrives whole, in order, and once; what cannot be delivered says whether
// and when to try again; no error tells a secret.
//
// An adapter's test puts the adapter between a Desk and a fake of its network, and
// runs every law on a fresh one:
//
//	for _, law := range conformance.Laws() {
//		t.Run(law.Name, func(t *testing.T) {
//			require.NoError(t, law.Check(t.Context(), open(t)))
//		})
//	}
//
// It is imported by tests alone. A broken law is an error that names what was
// expected, so that the package needs no testing library itself.
package conformance
