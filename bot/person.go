package bot

import "proveout/dialog"

// Role is what a person may do.
type Role string

// The roles.
const (
	TechnicianRole Role = "technician"
	SeniorRole     Role = "senior"
	DispatcherRole Role = "dispatcher"
	OwnerRole      Role = "owner"
)

// Person is one of the shop's people.
type Person struct {
	// ID is the key he stands under in the configuration; the record knows him by
	// it.
	ID   string `yaml:"-"`
	Name string `yaml:"name"`
	Role Role   `yaml:"role"`
	// Identities are his names in the channels, by channel: a user id, a phone
	// number.
	Identities map[string]string `yaml:"identities"`
	// Language is the tag of the language he is answered in; empty is the one he
	// writes in.
	Language string `yaml:"language"`
	// Instruments are those he carries, by the names measurements use. Empty: every
	// one.
	Instruments []string `yaml:"instruments"`
}

// speaksAs is whom the talk takes a person for.
func (p *Person) speaksAs() string {
	switch p.Role {
	case SeniorRole:
		return dialog.Senior
	case DispatcherRole, OwnerRole:
		return dialog.Dispatcher
	default:
		return dialog.Tech
	}
}
