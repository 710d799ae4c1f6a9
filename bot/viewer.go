package bot

import (
	"cmp"
	"strings"

	"proveout/knowledge"
)

// viewer is who looks at a page.
func (s *Service) viewer(id string) (*Person, error) {
	if p := s.people.by[id]; p != nil {
		return p, nil
	}
	return nil, &Error{Code: CodeForbidden, Text: "nobody of the shop is signed in as " + cmp.Or(id, "anybody")}
}

// maySee says whether a person may look at a job: a technician only at his own.
func maySee(p *Person, j *Job) bool { return p.Role != TechnicianRole || j.Technician == p.ID }

// reads is the language a person reads pages in: the one set for him, else the one a
// technician writes in, else the shop's.
func (s *Service) reads(p *Person, writes string) string {
	if p.Role != TechnicianRole {
		writes = ""
	}
	return cmp.Or(p.Language, writes, s.config.Language)
}

// Phrases are what is said in one language, by id.
type Phrases = knowledge.Phrases

// PhrasesFor are what a person is told in, by his identity in a channel; for a room, and
// whoever is not known, those of the shop's language.
func (s *Service) PhrasesFor(channel, identity string) Phrases {
	language := s.config.Language
	if p := s.people.is(channel, identity); p != nil {
		language = s.languageOf(p)
	}
	return s.agent.Words(language).Phrases
}

// Colleague gives a person of the shop by his id.
func (s *Service) Colleague(id string) (Member, bool) {
	p := s.people.by[id]
	if p == nil {
		return Member{}, false
	}
	return member(p), true
}

// Identified gives who has an identity in a channel.
func (s *Service) Identified(channel, identity string) (Member, bool) {
	p := s.people.is(channel, identity)
	if p == nil {
		return Member{}, false
	}
	return member(p), true
}

// Known finds whom a person says he is: by his id, his name, or what he is called in a
// channel, a phone number as people write them. Two of a name are nobody.
func (s *Service) Known(said string) (Member, bool) {
	said = strings.TrimSpace(said)
	if one, ok := s.Colleague(said); ok {
		return one, true
	}
	var found []*Person
	for _, p := range s.people.sorted {
		if p.calls(said) {
			found = append(found, p)
		}
	}
	if len(found) != 1 {
		return Member{}, false
	}
	return member(found[0]), true
}

// calls says whether a person is called so.
func (p *Person) calls(said string) bool {
	if said == "" {
		return false
	}
	if strings.EqualFold(said, p.ID) || strings.EqualFold(said, p.Name) {
		return true
	}
	const whole = 10 // digits of a number without its country
	number := digits(said)
	for _, identity := range p.Identities {
		if strings.EqualFold(said, identity) || len(number) >= whole && strings.HasSuffix(digits(identity), number) {
			return true
		}
	}
	return false
}

// digits are the digits of a number as people write it; none of what is no number.
func digits(s string) string {
	if strings.Trim(s, "+0123456789 ().-/") != "" {
		return ""
	}
	return strings.Map(func(r rune) rune {
		if r < '0' || r > '9' {
			return -1
		}
		return r
	}, s)
}

func member(p *Person) Member { return Member{p.ID, p.Name, p.Role} }

// member is a person by his id: one who has left is known by his id alone, nobody is
// the zero member.
func (s *Service) member(id string) Member {
	if p := s.people.by[id]; p != nil {
		return member(p)
	}
	return Member{ID: id, Name: id}
}

// members lists the people of a role.
func (s *Service) members(r Role) []Member {
	var out []Member
	for _, p := range s.people.with(r) {
		out = append(out, member(p))
	}
	return out
}
