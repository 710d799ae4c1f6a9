package knowledge

// target wants a target table to say how far it may be trusted, and its rows to rise
// and hold something.
func (c *checker) target(s spot, _ string, t *Target) {
	s.source(t.Source)
	s.text(t.Name, "name", "name it: `name: target superheat of a fixed orifice`")
	s.text(t.Unit, "unit", "write the unit of its values")
	s.text(t.Down, "down", "name the reading whose places stand down the table")
	s.text(t.Across, "across", "name the reading whose places stand across the table")
	s.text(t.Mark, "mark", "write how far it may be trusted: published, or from memory")
	if !(t.Step > 0) {
		s.in("step").fail("write how far apart the values of a row are", "the step is %g", t.Step)
	}
	if len(t.Rows) < 2 {
		s.in("rows").fail("give at least two rows", "the table has %d rows", len(t.Rows))
	}
	for i, row := range t.Rows {
		if len(row.Values) == 0 {
			s.in("rows", i).fail("give its values, or leave the row out", "the row holds nothing")
		}
		if i > 0 && !(row.At > t.Rows[i-1].At) {
			s.in("rows", i, "at").fail("sort the rows by where they stand", "the row does not stand after the one before")
		}
	}
}
