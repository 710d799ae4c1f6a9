package bot_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"proveout/bot"
)

func TestEachIsAnsweredInHisLanguage(t *testing.T) {
	t.Parallel()
	config := larkmoor()
	config.People["ben"].Language = "es"
	inShop(t, config, func(t *testing.T, s *shop) {
		holds(t, s.say("Ana", "", "outdoor unit dead, blower runs"), "Read as:", "Next:")
		holds(t, s.say("Ben", "", "outdoor unit dead, blower runs"), "Leído:", "Sigue:") // as it is set for him
		s.restart(config)
		holds(t, s.say("Ana", "", "el contactor no esta metido"), "Leído:", "Sigue:") // as he writes
		require.Contains(t, s.phones.last().Buttons, bot.Button{Action: "say:why", Label: "¿Por qué?"})
		holds(t, s.press("Ana", "tAna-1", "say:why"), "Sigue:") // a button's words are not his
	})
}

func TestTheDeskSpeaksToATechnicianInHisLanguage(t *testing.T) {
	t.Parallel()
	config := larkmoor()
	config.People["ben"].Language = "es"
	inShop(t, config, func(t *testing.T, s *shop) {
		holds(t, s.command("Ben", "nuevo"), "abro un trabajo")
		thread, proposed := s.overload("Ben")
		holds(t, proposed, "Diagnóstico: compresor con el protector interno", "Call: compressor with its internal overload failed open",
			"Proof: OL at compressor C to S;", "Ruled out: weak run capacitor on the compressor side, by 44.6")
		photo := s.inbound("Ben", thread, "")
		photo.Files = []bot.File{{ID: "F1", Name: "plate.jpg", Kind: "image/jpeg"}}
		holds(t, s.receive(photo), "Guardado con el trabajo: plate.jpg. No puedo leer una foto")
		holds(t, s.press("Ben", thread, "confirm:J-1001"), "Eso es para un técnico senior.")
		holds(t, s.say("Sam", thread, "ask for suction pressure"), "Sam pide una lectura más antes de decidir: suction pressure")
		holds(t, s.say("Sam", thread, "I'll take it"), "Sam lleva este trabajo ahora.")
		s.say("Sam", thread, "hand it back")
		ruling := s.inbound("Sam", "", "")
		ruling.Conversation, ruling.Kind, ruling.Action = "D-Sam", bot.Pressed, "confirm:J-1001"
		holds(t, s.receive(ruling), "[service/"+thread+"] Sam lo confirmó: compresor con el protector interno")
		s.say("Ben", "", "trabajo nuevo: no enfria en Dorset, el blower anda")
		require.Len(t, s.OpenJobs(channel, "U-Ben"), 2)
		holds(t, s.say("Ben", "", "24 en el amarillo"), "¿Para cuál trabajo es eso?", "Conteste con el número")
	})
}

func TestCommandsAreAnsweredToWhoGaveThem(t *testing.T) {
	t.Parallel()
	inShop(t, larkmoor(), func(t *testing.T, s *shop) {
		holds(t, s.command("Ana", "status"), "No open jobs.")
		holds(t, s.command("Ana", "dance"), "Text what you see and read")
		holds(t, s.command("Ana", "new"), "Tell me what the unit does")
		require.Empty(t, s.OpenJobs(channel, "U-Ana"))
		holds(t, s.command("Ana", "new no cooling on Quarry Lane, blower runs"), "Read as:")
		require.Equal(t, "no cooling on Quarry Lane, blower runs", s.recorded("J-1001")[0].Text)
		s.say("Ben", "", "outdoor unit dead, blower runs")
		require.Contains(t, s.command("Ben", "status"), "1 open\nJ-1002 Ben")
		require.Contains(t, s.command("Dee", "status"), "2 open")
	})
}

func TestTheSeniorReadsTheCardInHisLanguageAndTheRoomInTheShops(t *testing.T) {
	t.Parallel()
	config := larkmoor()
	config.People["sam"].Language = "es"
	inShop(t, config, func(t *testing.T, s *shop) {
		thread, got := s.overload("Ana")
		holds(t, got, "Read as:", "[@U-Sam] J-1001, Ana: ",
			"\nDiagnóstico: compresor con el protector interno", "\nPrueba: OL en el compresor, C a S;", "\nDescartado: capacitor de marcha débil del lado del compresor, por 44.6 µF en el capacitor",
			"\nSi está mal: una pieza buena cambiada (compresor) y otra vuelta.")
		holds(t, got, "["+room+"/"+thread+"] J-1001, Ana: ", "\nCall: compressor with its internal overload failed open")
		require.Equal(t, "Confirmar", s.OpenJobs(channel, "U-Sam")[0].Buttons[0].Label)
		require.Contains(t, s.OpenJobs(channel, "U-Sam")[0].Text, "J-1001 Ana, esperando a un senior: ")
		require.Contains(t, s.OpenJobs(channel, "U-Dee")[0].Text, "J-1001 Ana, proposed: ")
		holds(t, s.press("Sam", thread, "more:J-1001"), "¿Cuál lectura? Escríbala así: J-1001 pida la presión de succión")
		holds(t, s.say("Sam", thread, "pida la presión de succión"), "Sam asks for one more reading before he rules: la presión de succión")
		holds(t, s.say("Sam", thread, "yo lo tomo"), "Sam has this job now.")
		s.say("Sam", thread, "te lo devuelvo")
		holds(t, s.say("Sam", thread, "silencio 5"), "J-1001: sin alarmas por 5 min.")
		time.Sleep(11 * time.Minute)
		holds(t, s.sent(), "[@U-Sam] ALARMA J-1001: el diagnóstico lleva 10 min esperando a un senior.\nJ-1001 Ana, esperando a un senior: ", "[@U-Dee] ALARM J-1001: the call has waited 10 min")
	})
}

func TestTheShopsLanguageIsThatOfItsRoomAndOfThoseWithNoneSet(t *testing.T) {
	t.Parallel()
	config := larkmoor()
	config.Language = "es"
	config.People["dee"].Language = "en"
	inShop(t, config, func(t *testing.T, s *shop) {
		in := s.inbound("Ana", "", "24 at y")
		holds(t, s.receive(in), "Leído:") // too little to tell a language
		holds(t, s.say("Ana", in.Starts, "outdoor unit dead, blower runs"), "Read as:")
		time.Sleep(21 * time.Minute)
		holds(t, s.sent(), "["+room+"/"+in.Starts+"] ALARMA J-1001: ninguna lectura en 20 min.", "[@U-Dee] ALARM J-1001: no reading for 20 min.")
		holds(t, s.command("Sam", "estado"), "1 abierto\nJ-1001 Ana, midiendo: 24 at y | lo más probable: ")
		holds(t, s.command("Dee", "status"), "1 open\nJ-1001 Ana, measuring: 24 at y")
		holds(t, s.press("Sam", in.Starts, "snooze:J-1001"), "J-1001: sin alarmas por 30 min.")
	})
}

func TestACallAnEditMakesIsShownInTheSeniorsLanguageToo(t *testing.T) {
	t.Parallel()
	config := larkmoor()
	config.People["sam"].Language = "es"
	inShop(t, config, func(t *testing.T, s *shop) {
		in := s.inbound("Ana", "", "no cooling at 12 Fenwick. condenser fan runs, compressor is silent, blower is running")
		s.receive(in)
		steps := overloadReadings()
		last := len(steps) - 1
		for _, text := range steps[:last] {
			s.say("Ana", in.Starts, text)
		}
		wrong := s.inbound("Ana", in.Starts, "hmm")
		s.receive(wrong)
		edit := s.inbound("Ana", in.Starts, steps[last])
		edit.Kind, edit.Of = bot.Edited, wrong.ID
		got := s.receive(edit)
		holds(t, got, "Took your message as it reads now.", "\nDiagnóstico: compresor con el protector interno", "\nPrueba: OL en el compresor, C a S; ")
	})
}
