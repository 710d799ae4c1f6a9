package understand_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"proveout/dialog/understand"
)

func TestALanguageNobodyHereReadsIsAskedAboutAndNotTaken(t *testing.T) {
	t.Parallel()
	r := newReader(t)
	for _, text := range []string{
		"Bonjour, le compresseur ne démarre pas et j'ai 24 volts à la bobine",
		"Der Kompressor läuft nicht, 230 Volt am Schütz",
		"il compressore non parte, ho 24 volt alla bobina",
		"o compressor não liga, tenho 24 volts na bobina",
		"компрессор не работает 24 вольта на катушке",
	} {
		u := r.Understand(text, understand.Context{Asked: "voltage/y-outdoor"})
		require.True(t, u.Foreign, text)
		require.Empty(t, u.Readings, text)
		require.Empty(t, u.Observations, text)
	}
	for _, text := range []string{"screen on the stat is blank even with fresh AA's in it", "el contactor no mete, 24 en la bobina", "buzzin like a bee"} {
		require.False(t, r.Understand(text, understand.Context{}).Foreign, text)
	}
}
