package bot

import "slices"

// Shop is the name people read.
func (s *Service) Shop() string { return s.config.Shop }

// Members lists the shop's people, by name.
func (s *Service) Members() []Member {
	out := make([]Member, 0, len(s.people.sorted))
	for _, p := range s.people.sorted {
		out = append(out, member(p))
	}
	return out
}

// Languages lists those people are spoken to in, the shop's first.
func (s *Service) Languages() []string {
	out := []string{s.config.Language}
	for _, language := range append([]string{"en"}, s.base.Languages()...) {
		if !slices.Contains(out, language) {
			out = append(out, language)
		}
	}
	return out
}

// Reads is the language a person reads pages in that are not about a job, by his id.
func (s *Service) Reads(id string) string {
	if p := s.people.by[id]; p != nil {
		return s.reads(p, "")
	}
	return s.config.Language
}

// Words are what is said in a language.
func (s *Service) Words(language string) Phrases { return s.agent.Words(language).Phrases }
