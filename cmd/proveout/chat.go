package main

import (
	"errors"
	"os"

	"github.com/spf13/cobra"
	"golang.org/x/term"

	"proveout/adapters/terminal"
	"proveout/bot"
	"proveout/dialog"
)

// demoShop is the invented shop the terminal opens in.
const demoShop = "Larkmoor Heating & Air"

func newChat(std streams, opts *options) *cobra.Command {
	var asJSON bool
	var equipment, language string
	cmd := &cobra.Command{
		Use:   "chat",
		Short: "Talk through a job, as a technician would text it",
		Long: `Chat opens a job at the terminal. Text what you see and read, in your own words,
several readings at once if you like; each reply says what was understood, what it
proves, the one next reading and the caution that goes with it. These work at any
point: why, what's left, how, can't reach it, no clamp meter, skip, undo, scratch
that, show me, done, senior, help. A line that starts with "senior:" is the senior's. Write
Spanish and it answers in Spanish.

With --json each line in is plain text or {"from": "tech|senior|dispatcher",
"text": …}, and each reply is one JSON object a line.

` + exitHelp,
		Example: `  proveout chat
  echo "no cooling, blower runs, outdoor unit dead" | proveout chat
  proveout chat --json < messages.jsonl`,
		Args: cobra.NoArgs,
		RunE: func(cmd *cobra.Command, _ []string) error {
			base, err := loadKnowledge(opts.knowledge...)
			if err != nil {
				return err
			}
			agent, err := dialog.New(base, equipment)
			if err != nil {
				return err
			}
			if language, err = spoken(base, language); err != nil {
				return err
			}
			desk, err := bot.NewDesk(agent, language)
			if err != nil {
				return err
			}
			if asJSON {
				err := terminal.ChatJSON(cmd.Context(), desk, std.in, std.out)
				if unread, ok := errors.AsType[terminal.UnreadError](err); ok {
					return finding(unread.Error())
				}
				return err
			}
			prompt := ""
			if f, ok := std.in.(*os.File); ok && term.IsTerminal(int(f.Fd())) {
				prompt = "> "
			}
			return terminal.Chat(cmd.Context(), desk, demoShop, prompt, std.in, std.out)
		},
	}
	cmd.Flags().BoolVar(&asJSON, "json", false, "one message a line in, one JSON object a reply out")
	cmd.Flags().StringVar(&language, "language", "", "the `TAG` of the language it opens in (en)")
	cmd.Flags().StringVar(&equipment, "equipment", "split-cooling", "the kind of machine, an `ID` under equipment/")
	return cmd
}
