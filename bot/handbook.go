package bot

import (
	"cmp"
	"fmt"
	"maps"
	"slices"
	"strings"

	"proveout/bot/ladder"
)

// Handbook is what the agent knows of the shop's machines, as people may look it up, in
// one language. Every item says where it is known from.
type Handbook struct {
	// Version is of the knowledge all answers are given by now.
	Version      string
	Units        []Unit
	Faults       []FaultEntry
	Measurements []MeasurementEntry
}

// Unit is a kind of machine.
type Unit struct {
	ID, Name, Source string
	Circuits         []Sourced
}

// Sourced is something and where it is known from.
type Sourced struct{ Name, Source string }

// FaultEntry is a root cause.
type FaultEntry struct {
	ID, Name string
	// Share of all causes there are on a no-cooling call, before anything is read.
	Share        float64
	Part, Repair string
	Senior       bool // a senior confirms it
	Source       string
}

// MeasurementEntry is a reading that may be asked for.
type MeasurementEntry struct {
	ID, Name, Instrument, Setting, Leads, Note string
	Minutes                                    float64
	Source                                     string
}

// Handbook gives what is known, in a language.
func (s *Service) Handbook(language string) *Handbook {
	words := s.agent.Words(language)
	h := &Handbook{Version: s.version}
	for _, id := range sortedKeys(words.Equipment) {
		e := words.Equipment[id]
		u := Unit{ID: id, Name: e.Name, Source: e.Source}
		for _, circuit := range e.Circuits {
			if c := words.Circuits[circuit]; c != nil {
				u.Circuits = append(u.Circuits, Sourced{strings.ReplaceAll(circuit, "-", " "), c.Source})
			}
		}
		h.Units = append(h.Units, u)
	}
	all := 0.0
	for _, f := range s.base.Faults {
		all += f.Weight
	}
	for _, id := range sortedKeys(words.Faults) {
		f := words.Faults[id]
		h.Faults = append(h.Faults, FaultEntry{id, words.FaultName(id), f.Weight / all, f.Part, f.Repair, f.NeedsConfirmation, f.Source})
	}
	slices.SortStableFunc(h.Faults, func(a, b FaultEntry) int { return cmp.Compare(b.Share, a.Share) })
	for _, id := range slices.Sorted(maps.Keys(words.Measurements)) {
		m := words.Measurements[id]
		h.Measurements = append(h.Measurements, MeasurementEntry{string(id), m.Name, m.Instrument, m.Setting, m.Leads, m.Note, m.Minutes, m.Source})
	}
	return h
}

// Wiring draws a kind of machine's circuits in a language, as SVG to stand in a page
// whose style has ladder.CSS. CodeNotFound.
func (s *Service) Wiring(language, equipment string) (string, error) {
	words := s.agent.Words(language)
	if words.Equipment[equipment] == nil {
		return "", &Error{Code: CodeNotFound, Text: fmt.Sprintf("there is no equipment %q", equipment)}
	}
	d, err := ladder.Draw(words, equipment, ladder.Marking{})
	if err != nil {
		return "", err
	}
	var b strings.Builder
	if err := d.SVG(&b, ladder.Page); err != nil {
		return "", err
	}
	return b.String(), nil
}
