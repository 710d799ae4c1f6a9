package bot

import (
	"testing"

	"github.com/stretchr/testify/require"

	"proveout/knowledge"
)

func TestCommandsAreGivenInEitherLanguage(t *testing.T) {
	t.Parallel()
	base, err := knowledge.Load(knowledge.Embedded())
	require.NoError(t, err)
	all, err := newCommands(base)
	require.NoError(t, err)
	for name, said := range map[string]map[string]string{ // what is said, and what follows in it
		knowledge.CommandNewJob: {
			"New job: no cooling at 4 Quarry Lane": "no cooling at 4 Quarry Lane", "next house": "", "new": "", "a new one.": "",
			"trabajo nuevo: no enfría en Dorset": "no enfría en Dorset", "Nuevo": "", "otro trabajo, la unidad no prende": "la unidad no prende",
		},
		knowledge.CommandBoard:    {"status?": "", "/proveout status": "", "open jobs": "", "Estado": "", "¿Cómo vamos?": "", "trabajos abiertos": ""},
		knowledge.CommandWhole:    {"More.": "", "MÁS": "", "mas": ""},
		knowledge.CommandTakeOver: {"I'll take it from here": "", "ill take it": "", "I’ll take over.": "", "taking this": "", "mine!": "", "Yo lo tomo": "", "ya lo tengo": "", "yo me encargo": "", "déjamelo a mí": ""},
		knowledge.CommandHandBack: {"hand it back, thanks": "thanks", "your turn": "", "te lo devuelvo": "", "le toca a usted": "", "tu turno": ""},
		knowledge.CommandOneMore:  {"ask him for c to r again": "c to r again", "one more first: 24 at the coil": "24 at the coil", "pida la presión de succión": "la presión de succión", "una lectura más": "", "primero mida C a R": "C a R"},
		knowledge.CommandSnooze:   {"snooze": "", "snooze 45m": "45", "Snooze 10 minutes.": "10", "silencio 45": "45", "calla las alarmas por 10 minutos": "10"},
	} {
		for text, rest := range said {
			got, ok := all.asks(name, text)
			require.True(t, ok, "%s: %s", name, text)
			require.Equal(t, rest, got, text)
		}
	}
}

// What is said of a machine is no command.
func TestTalkIsNoCommand(t *testing.T) {
	t.Parallel()
	base, err := knowledge.Load(knowledge.Embedded())
	require.NoError(t, err)
	all, err := newCommands(base)
	require.NoError(t, err)
	for _, text := range []string{
		"new contactor is in", "status of the fan: off", "more like 24 V", "take the panel off first", "snooze button on the stat", "the jobs are done",
		"contactor nuevo puesto", "estado del ventilador: apagado", "más o menos 24", "lo tomo con pinza", "nuevo capacitor puesto", "callado el compresor",
	} {
		for name := range all {
			_, ok := all.asks(name, text)
			require.False(t, ok, "%s: %s", name, text)
		}
	}
}
