package main

import (
	"bufio"
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"

	"github.com/spf13/cobra"

	"proveout/dialog/understand"
)

// newUnderstand builds the command that shows what messages are taken to say.
func newUnderstand(std streams, opts *options) *cobra.Command {
	var how manner
	cmd := &cobra.Command{
		Use:   "understand [FILE]...",
		Short: "Print what each message is taken to say, as one JSON object a line",
		Long: `Understand reads one message a line from the files, or from standard input when none
is named ("-" names it too). A line is the text as it was sent, or a JSON object

  {"text": "still nothing", "asked": "voltage/contactor-coil", "facts": {"refrigerant": "R-410A"}}

where asked is what the agent asked for last: a reading, an observation's subject
or a fact, by id, or an object as "chat --json" prints it under ask. A line that
cannot be read is reported on standard error as {"error": …} and the rest goes on.

With --explain it prints for a person how each message was read: the words as they
were taken, the phrases of the lexicon, the figures, the places, what the tagger
takes words for and how sure it is, what it changed, and the rule that put each
figure where it stands. With --eval the files are labelled messages, one
JSON object a line with text, want and, where it matters, asked; it prints how many
readings, sightings, facts, wishes and questions were right, missed and too many.

` + exitHelp,
		Example: `  echo "27 on r and c, 24 at yellow outside" | proveout understand
  echo '{"text": "0", "asked": "voltage/contactor-coil"}' | proveout understand
  proveout understand monday.txt tuesday.txt
  echo "27 across it" | proveout understand --explain
  proveout understand --eval --misses labelled.jsonl
  proveout understand --eval --json labelled.jsonl`,
		RunE: func(_ *cobra.Command, args []string) error {
			return understandFiles(std, opts.knowledge, args, how)
		},
	}
	cmd.Flags().BoolVar(&how.explain, "explain", false, "print how each message was read, for a person")
	cmd.Flags().BoolVar(&how.eval, "eval", false, "score labelled messages")
	cmd.Flags().BoolVar(&how.json, "json", false, "with --eval, print the score as one JSON object a file")
	cmd.Flags().BoolVar(&how.misses, "misses", false, "with --eval, print each message not read as labelled")
	cmd.MarkFlagsMutuallyExclusive("explain", "eval")
	return cmd
}

// manner is how the messages are to be answered.
type manner struct {
	explain, eval, json, misses bool
}

// understandFiles reads every file in turn and fails at the end when a line did.
func understandFiles(std streams, dirs, files []string, how manner) error {
	base, err := loadKnowledge(dirs...)
	if err != nil {
		return err
	}
	reader, err := understand.New(base)
	if err != nil {
		return placed(err, dirs)
	}
	if len(files) == 0 {
		files = []string{"-"}
	}
	job := understanding{lines: messageReader{base: base}, reader: reader, out: bufio.NewWriter(std.out), err: std.err, how: how}
	for _, file := range files {
		if err := job.file(std.in, file); err != nil {
			return errors.Join(err, job.out.Flush())
		}
	}
	if err := job.out.Flush(); err != nil {
		return fmt.Errorf("writing the answers: %w", err)
	}
	if job.failed > 0 {
		return finding(count(job.failed, "line") + " could not be read")
	}
	return nil
}

// understanding is one run over one or more files.
type understanding struct {
	lines  messageReader
	reader *understand.Reader
	out    *bufio.Writer
	err    io.Writer
	failed int
	how    manner
}

// file answers every line of one file.
func (u *understanding) file(stdin io.Reader, name string) error {
	if name == "-" {
		return u.all("standard input", stdin)
	}
	f, err := os.Open(name)
	if err != nil {
		return fmt.Errorf("opening the messages: %w; name a file that can be read", err)
	}
	defer f.Close()
	return u.all(name, f)
}

// all answers a file's messages, or scores them.
func (u *understanding) all(name string, r io.Reader) error {
	if u.how.eval {
		return u.score(name, r)
	}
	return u.stream(name, r)
}

// stream answers every line, however long, and flushes when it would have to wait
// for the next one, so that a program may talk through a pipe.
func (u *understanding) stream(name string, r io.Reader) error {
	in := bufio.NewReader(r)
	for number := 1; ; number++ {
		line, err := in.ReadBytes('\n')
		if len(line) > 0 {
			if err := u.line(name, number, line); err != nil {
				return err
			}
		}
		if errors.Is(err, io.EOF) {
			return nil
		}
		if err != nil {
			return fmt.Errorf("reading %s: %w", name, err)
		}
		if in.Buffered() == 0 {
			if err := u.out.Flush(); err != nil {
				return fmt.Errorf("writing the answers: %w", err)
			}
		}
	}
}

// line answers one line; a line that cannot be read is reported and counted.
func (u *understanding) line(name string, number int, line []byte) error {
	m, err := u.lines.read(bytes.TrimRight(line, "\r\n"))
	if err != nil {
		u.failed++
		return writeJSON(u.err, map[string]string{"error": fmt.Sprintf("%s, line %d: %v", name, number, err)})
	}
	if u.how.explain {
		return u.explain(m)
	}
	return writeJSON(u.out, u.reader.Understand(m.text, m.context))
}

// writeJSON writes one object and a line end, with & and < as they are.
func writeJSON(w io.Writer, v any) error {
	enc := json.NewEncoder(w)
	enc.SetEscapeHTML(false)
	if err := enc.Encode(v); err != nil {
		return fmt.Errorf("writing an answer: %w", err)
	}
	return nil
}
