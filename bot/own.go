package bot

import (
	"runtime/debug"
	"time"
)

// OwnKnowledge is what a shop has laid over the built-in knowledge, and how old both are.
type OwnKnowledge struct {
	// Built is when the sources of the binary were last changed: the built-in knowledge
	// bears no other date. Zero where the binary does not know.
	Built time.Time
	Files []OwnFile
	// Checked is what a check says of these files that is no mistake, a line each: with a
	// mistake in them the service does not start.
	Checked []string
}

// OwnFile is one file of a shop's folder.
type OwnFile struct {
	Name    string
	Changed time.Time // zero where nobody knows
}

// OwnKnowledge gives the shop's own. The first time it may take some seconds.
func (s *Service) OwnKnowledge() *OwnKnowledge {
	out := &OwnKnowledge{Built: built()}
	for _, name := range s.base.Laid() {
		f := OwnFile{Name: name}
		if s.Changed != nil {
			f.Changed = s.Changed(name)
		}
		out.Files = append(out.Files, f)
	}
	if s.Checked != nil {
		out.Checked = s.Checked()
	}
	return out
}

// built is when the code the binary was built from was last changed; zero where that
// was not noted.
func built() time.Time {
	info, ok := debug.ReadBuildInfo()
	if !ok {
		return time.Time{}
	}
	for _, s := range info.Settings {
		if s.Key == "vcs.time" {
			at, _ := time.Parse(time.RFC3339, s.Value) // zero where it is no time
			return at
		}
	}
	return time.Time{}
}
