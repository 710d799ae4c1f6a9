package main

import (
	"fmt"
	"math"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"github.com/cockroachdb/datadriven"
	"github.com/stretchr/testify/require"

	"proveout/adapters/sms"
	"proveout/adapters/sms/gsm"
	"proveout/bot"
	"proveout/dialog"
	"proveout/knowledge"
	"proveout/rules"
)

// asText is a reply as a phone gets it.
func asText(base *knowledge.Base, r *dialog.Reply) string {
	return sms.Compose(&bot.Outbound{Text: r.Text, Reply: r, More: base.In(r.Language).Phrases.Say("desk-rest")})
}

// holdsWhatItMust says what a text of a reply lacks: two parts at most, each caution, the
// call and the first thing to do at least in brief, and how to get the rest.
func holdsWhatItMust(base *knowledge.Base, r *dialog.Reply) error {
	text := asText(base, r)
	if n := gsm.Count(text); n > 2 {
		return fmt.Errorf("%d parts:\n%s", n, text)
	}
	if !gsm.Default(text) {
		return fmt.Errorf("not in the default alphabet:\n%s", text)
	}
	led, left := map[dialog.Part]bool{}, false
	for _, l := range r.Lines {
		full, brief := strings.Join(strings.Fields(gsm.Respell(l.Text)), " "), gsm.Respell(l.Brief)
		must := l.Part == dialog.Safety || l.Part == dialog.Caution || (l.Part == dialog.Verdict || l.Part == dialog.Next) && !led[l.Part]
		led[l.Part] = true
		whole := strings.Contains(text, full)
		left = left || !whole
		if must && !whole && (brief == "" || !strings.Contains(text, brief)) {
			return fmt.Errorf("%q is not in it:\n%s", l.Text, text)
		}
	}
	if rest := gsm.Respell(base.In(r.Language).Phrases.Say("desk-rest")); left && !strings.HasSuffix(text, rest) {
		return fmt.Errorf("nothing leads to the rest:\n%s", text)
	}
	return nil
}

// Every reply of every transcript, in both languages, is a text of two parts that leaves
// out nothing it must say.
func TestEveryReplyFitsATextInBothLanguages(t *testing.T) {
	t.Parallel()
	base, err := loadKnowledge()
	require.NoError(t, err)
	agent, err := dialog.New(base, "split-cooling")
	require.NoError(t, err)
	files, err := filepath.Glob("../../dialog/testdata/conversations/*.txt")
	require.NoError(t, err)
	require.NotEmpty(t, files)
	for _, language := range []string{"en", "es"} {
		for _, path := range files {
			t.Run(language+" "+filepath.Base(path), func(t *testing.T) {
				t.Parallel()
				job := agent.Open()
				datadriven.RunTest(t, path, func(t *testing.T, d *datadriven.TestData) string {
					var r *dialog.Reply
					job, r = agent.Turn(job, dialog.Message{From: d.Cmd, Text: d.Input, Language: language})
					require.NoError(t, holdsWhatItMust(base, r), d.Input)
					return d.Expected
				})
			})
		}
	}
}

// So is every reply on the way to every fault there is, with its call and its repair.
func TestEveryFaultIsCalledInATextOfTwoParts(t *testing.T) {
	t.Parallel()
	base, err := loadKnowledge()
	require.NoError(t, err)
	agent, err := dialog.New(base, "split-cooling")
	require.NoError(t, err)
	model, err := rules.Compile(base, "split-cooling", nil)
	require.NoError(t, err)
	for i, truth := range model.Truths() {
		language := []string{"en", "es"}[i%2]
		t.Run(fmt.Sprintf("%s %s %d", language, strings.ReplaceAll(truth.Fault, "/", " "), truth.Degree), func(t *testing.T) {
			t.Parallel()
			job, text := agent.Open(), "no cooling"
			for range 40 {
				var r *dialog.Reply
				job, r = agent.Turn(job, dialog.Message{From: dialog.Tech, Text: text, Language: language})
				require.NoError(t, holdsWhatItMust(base, r), text)
				if job.Asked == nil {
					return
				}
				text = inAWord(base, model, truth, job.Asked)
			}
		})
	}
}

// inAWord is what a technician at a machine with a fault answers.
func inAWord(base *knowledge.Base, model *rules.Model, truth rules.Truth, a *rules.Ask) string {
	if a.Fact != "" {
		return base.Facts[a.Fact].Default
	}
	it, ok := model.Answer(truth, a)
	switch {
	case !ok:
		return "can't reach it"
	case it.Subject != "" && it.Seen == base.Observations[it.Subject].Yes:
		return "yes"
	case it.Subject != "":
		return strings.ReplaceAll(it.Seen, "-", " ")
	case math.IsInf(it.Value, 1):
		return "OL"
	}
	return strconv.FormatFloat(math.Round(it.Value*100)/100, 'f', -1, 64)
}
