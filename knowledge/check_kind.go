package knowledge

// The shapes a solver's element can have: how many nodes it joins, and the figures
// it knows by name.
var elements = map[string]struct {
	nodes   int
	figures []string
}{
	"branch":      {2, []string{"ohms", "ac-ohms", "reactance", "uf"}},
	"source":      {2, []string{"volts", "angle"}},
	"transformer": {4, []string{"ratio", "ohms", "primary-ohms", "secondary-ohms", "magnetising"}},
	"rotor":       {0, nil},
}

func (c *checker) kind(s spot, _ string, k *Kind) {
	s.text(k.Name, "name", "name it in plain words, such as `name: fuse`")
	s.source(k.Source)
	if !s.in("element").oneOf("element", k.Element, "branch", "source", "transformer", "rotor") {
		return
	}
	figures := elements[k.Element].figures
	s.in("values").values(k.Values, k.Element, figures)
	s.in("running").values(k.Running, k.Element, figures)
	for _, name := range keysOf(k.Modes) {
		s.in("modes", name).mode(k, k.Modes[name])
	}
}

func (s spot) mode(k *Kind, m Mode) {
	figures := elements[k.Element].figures
	s.in("set").values(m.Set, k.Element, figures)
	s.in("scale").values(m.Scale, k.Element, figures)
	switch {
	case m.Stuck == "" && len(m.Set)+len(m.Scale) == 0:
		s.fail("give it set, scale or stuck", "the mode changes nothing")
	case m.Stuck == "" || !s.in("stuck").oneOf("stuck", m.Stuck, "open", "closed", "stopped"):
	case (m.Stuck == "stopped") != (k.Element == "rotor"):
		s.in("stuck").fail("a rotor is stuck stopped, a branch open or closed", "a %s cannot be stuck %s", k.Element, m.Stuck)
	}
	if m.Fault != nil {
		s.in("fault").kindFault(m.Fault)
	}
}

// kindFault checks the text every part of a kind gets.
func (s spot) kindFault(f *Fault) {
	s.text(f.Name, "name", "write it with {name} for the part's name")
	s.text(f.Repair, "repair", "say what to do, with {name} for the part's name")
	s.source(f.Source)
	s.weight(f.Weight)
	s.in("cautions").refs("cautions", f.Cautions)
	s.in("checks").refs("checks", f.Checks)
	for i, step := range f.Proof {
		s.in("proof", i).step(step)
	}
}

// values wants every figure to be one the element knows.
func (s spot) values(v Values, element string, known []string) {
	for _, name := range keysOf(v) {
		at := s.in(name)
		if len(known) == 0 {
			at.fail("remove it", "a %s has no figures", element)
		} else if at.oneOf("figure of a "+element, name, known...) {
			f := v[name]
			at.figure(&f)
		}
	}
}
