package ladder

// theme is the colours of a drawing. What bears words stands at least 4.5 to 1 from the
// paper (WCAG 2.2, 1.4.3).
type theme struct {
	paper, ink, faint, frame               string
	good, suspect, open, value, red, black string
}

func light() theme {
	return theme{
		paper: "#ffffff", ink: "#16202b", faint: "#5a6672", frame: "#eef2f6",
		good: "#0b6b3a", suspect: "#a3440a", open: "#7a2a8f", value: "#0b5394", red: "#b3141d", black: "#16202b",
	}
}

func dark() theme {
	return theme{
		paper: "#11161c", ink: "#e7edf3", faint: "#9aa7b4", frame: "#1d2630",
		good: "#57c98a", suspect: "#f2a65a", open: "#d59be6", value: "#7cb8f2", red: "#ff7b7b", black: "#e7edf3",
	}
}

// of is the colour of a class of words.
func (t theme) of(c class) string {
	switch c {
	case classGood:
		return t.good
	case classSuspect:
		return t.suspect
	case classOpen:
		return t.open
	case classValue:
		return t.value
	case classTag, classKey, classAbsent:
		return t.faint
	default:
		return t.ink
	}
}

// insulation is what a wire's colour looks like; none where the name says nothing.
func insulation(name string) string {
	return map[string]string{
		"red": "#e03030", "blue": "#2f6fe0", "yellow": "#f5d020", "green": "#2fa84f", "black": "#000000", "white": "#ffffff",
		"brown": "#8a5a2b", "purple": "#8e44c9", "orange": "#f08a24", "grey": "#8a939c", "gray": "#8a939c", "pink": "#f19ac0",
	}[name]
}
