package web

import (
	"slices"
	"strings"

	"proveout/bot"
)

// acts are what a person may do with a job, as forms; unless he is acting, the way to
// them.
type acts struct {
	Row        bot.Row
	Acting     bool
	Plain      []press
	Seniors    []bot.Member
	Back, Open string
}

// May says whether an act is among those the service offers him.
func (a acts) May(act bot.Act) bool {
	return slices.ContainsFunc(a.Row.Actions, func(b bot.Button) bool { return strings.HasPrefix(b.Action, string(act)+":") })
}

// press is a button that does one of them.
type press struct {
	Act    bot.Act
	Label  string
	Danger bool
}

// What takes no more than pressing, and where it stands: a senior's word on a call is
// given on the job's page beside the evidence, not on the board.
var (
	plainOnBoard = []bot.Act{bot.ActTake, bot.ActReturn, bot.ActSnooze}
	wordsOnCalls = []bot.Act{bot.ActConfirm, bot.ActOverrule, bot.ActMore}
)

// presses are those of a job's buttons that are among some acts.
func presses(from []bot.Button, among []bot.Act) []press {
	var out []press
	for _, b := range from {
		act, _, _ := strings.Cut(b.Action, ":")
		if slices.Contains(among, bot.Act(act)) {
			out = append(out, press{bot.Act(act), b.Label, b.Danger})
		}
	}
	return out
}
