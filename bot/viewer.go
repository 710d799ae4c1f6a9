package bot

import (
	"cmp"

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

// Phrases are what a person reads on his pages, by his id. CodeForbidden.
func (s *Service) Phrases(viewer string) (Phrases, error) {
	p, err := s.viewer(viewer)
	if err != nil {
		return nil, err
	}
	return s.agent.Words(s.reads(p, "")).Phrases, nil
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
