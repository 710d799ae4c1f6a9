package main

import (
	"bufio"
	"encoding/json"
	"fmt"
	"io"
	"os"
	"path/filepath"

	"github.com/spf13/cobra"

	"proveout/dialog/tagger"
	"proveout/dialog/understand"
	"proveout/dialog/understand/score"
	"proveout/knowledge"
)

func main() {
	if err := newCommand(os.Stdout).Execute(); err != nil {
		os.Exit(1)
	}
}

func newCommand(out io.Writer) *cobra.Command {
	r := recipe{seed: 1, bits: 15, epochs: 2, generated: 30000, copies: 4, batch: 16, step: 0.01, decay: 0.002}
	var file, language string
	var report bool
	cmd := &cobra.Command{
		Use:   "proveout-train",
		Short: "Train the tagger and write its weights",
		Long: `Proveout-train trains the tagger from the embedded lexicon, its own shapes of messages
and the labelled development messages, calibrates it on the marked development
messages, and writes the weights. The same seed gives the same bytes.`,
		Example:       "  go run ./cmd/proveout-train\n  go run ./cmd/proveout-train --epochs 2 --out /tmp/weights.bin --report",
		Args:          cobra.NoArgs,
		SilenceUsage:  true,
		SilenceErrors: false,
		RunE: func(*cobra.Command, []string) error {
			return run(out, r, language, file, report)
		},
	}
	f := cmd.Flags()
	f.Uint64Var(&r.seed, "seed", r.seed, "seed of every random choice")
	f.StringVar(&file, "out", filepath.FromSlash("dialog/tagger/weights.bin"), "file to write")
	f.IntVar(&r.epochs, "epochs", r.epochs, "passes over the messages")
	f.IntVar(&r.bits, "bits", r.bits, "feature rows, as a power of two, at most 17")
	f.IntVar(&r.generated, "generated", r.generated, "messages to generate")
	f.IntVar(&r.copies, "copies", r.copies, "altered copies of each labelled message")
	f.Float64Var(&r.step, "step", r.step, "first step of the optimizer")
	f.Float64Var(&r.decay, "decay", r.decay, "decay of the weights")
	f.StringVar(&language, "messages", filepath.FromSlash("testdata/language"), "folder of the labelled messages")
	f.BoolVar(&report, "report", false, "also measure every epoch and print what was measured")
	return cmd
}

func run(out io.Writer, r recipe, language, file string, report bool) error {
	if r.bits < 1 || r.bits > 17 {
		return fmt.Errorf("2^%d feature rows; give --bits from 1 to at most 17", r.bits)
	}
	base, err := knowledge.Load(knowledge.Embedded())
	if err != nil {
		return fmt.Errorf("loading the knowledge: %w", err)
	}
	var labelled []sentence
	for _, part := range []string{"en-dev", "es-dev"} {
		more, err := project(base, filepath.Join(language, part+".jsonl"))
		if err != nil {
			return err
		}
		labelled = append(labelled, more...)
	}
	var unseen []sentence
	for _, part := range devParts {
		more, err := readMarked(filepath.Join(language, "tagger", part+".jsonl"))
		if err != nil {
			return err
		}
		unseen = append(unseen, more...)
	}
	corpus, err := r.corpus(base, labelled)
	if err != nil {
		return err
	}
	fmt.Fprintf(out, "%d messages to learn from, %d of them generated\n", len(corpus), r.generated)
	var after func(int, *network)
	if report {
		after = func(_ int, n *network) {
			if m, err := tagger.New(n.weights(1), ""); err == nil {
				k := measure(m, unseen)
				fmt.Fprintf(out, "  runs F1 %.1f, %d of %d whole\n", 100*k.all().f1(), k.exact, k.messages)
			}
		}
	}
	n := r.train(corpus, out, after)
	temperature, err := n.calibrate(unseen)
	if err != nil {
		return err
	}
	m, err := tagger.New(n.weights(temperature), tagger.Digest(base))
	if err != nil {
		return err
	}
	bytes := m.Encode()
	if err := os.WriteFile(file, bytes, 0o644); err != nil {
		return fmt.Errorf("writing the weights: %w; name a file that can be written with --out", err)
	}
	fmt.Fprintf(out, "%s: %d bytes, temperature %.2f, trained for %s, checksum %s\n", file, len(bytes), temperature, m.Digest, tagger.Checksum(bytes)[:16])
	if report {
		return r.report(out, base, m, language)
	}
	return nil
}

// devParts are the marked messages the model is calibrated on and never learns.
var devParts = []string{"unknown-dev", "figures-dev"}

// project reads labelled messages and gives each word the slot the grammar gave
// it, where the grammar read the message exactly as labelled.
func project(base *knowledge.Base, file string) ([]sentence, error) {
	reader, err := understand.New(base)
	if err != nil {
		return nil, err
	}
	cases, err := readCases(file)
	if err != nil {
		return nil, err
	}
	wrong := map[string]bool{}
	for _, miss := range score.Run(reader, cases).Misses {
		wrong[miss.Case.Text] = true
	}
	var out []sentence
	for _, c := range cases {
		if wrong[c.Text] {
			continue
		}
		words, tags := reader.Slots(c.Text, c.Context())
		out = append(out, sentence{c.Text, words, tags})
	}
	return out, nil
}

// readCases reads labelled messages.
func readCases(file string) ([]score.Case, error) {
	f, err := os.Open(file)
	if err != nil {
		return nil, fmt.Errorf("opening the labelled messages: %w; name their folder with --messages", err)
	}
	defer f.Close()
	cases, err := score.Read(f)
	if err != nil {
		return nil, fmt.Errorf("%s: %w", file, err)
	}
	return cases, nil
}

// readMarked reads messages with marks: one JSON object a line, its field "marked".
func readMarked(file string) ([]sentence, error) {
	f, err := os.Open(file)
	if err != nil {
		return nil, fmt.Errorf("opening the marked messages: %w; name their folder with --messages", err)
	}
	defer f.Close()
	var out []sentence
	lines := bufio.NewScanner(f)
	for n := 1; lines.Scan(); n++ {
		var c struct{ Marked string }
		if err := json.Unmarshal(lines.Bytes(), &c); err != nil {
			return nil, fmt.Errorf("%s, line %d: %w; write one JSON object a line with a field marked", file, n, err)
		}
		s, err := parseMarked(c.Marked)
		if err != nil {
			return nil, fmt.Errorf("%s, line %d: %w", file, n, err)
		}
		out = append(out, s)
	}
	if err := lines.Err(); err != nil {
		return nil, fmt.Errorf("reading %s: %w", file, err)
	}
	return out, nil
}

// marked marks a sentence the way the model does.
func marked(m *tagger.Model, s sentence) string {
	got := sentence{s.text, s.words, nil}
	for _, r := range m.Tag(s.words, nil) {
		got.tags = append(got.tags, r.Tag)
	}
	return got.mark()
}
