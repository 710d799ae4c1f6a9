package web

import (
	"html/template"
	"net/http"
	"slices"

	"proveout/bot"
)

// handbookPage is what is known, and what of it is the shop's own.
type handbookPage struct {
	*bot.Handbook
	Own *bot.OwnKnowledge
}

// handbook shows what is known: which units there are, and where to look further.
func (a *Adapter) handbook(v *visit) error {
	return v.page(http.StatusOK, "handbook", v.words.Say("web-knowledge"), handbookPage{a.service.Handbook(v.language), a.service.OwnKnowledge()})
}

// unitPage is a unit with its wiring.
type unitPage struct {
	bot.Unit
	Drawing template.HTML
}

// unit shows one.
func (a *Adapter) unit(v *visit) error {
	id := v.r.PathValue("unit")
	units := a.service.Handbook(v.language).Units
	at := slices.IndexFunc(units, func(u bot.Unit) bool { return u.ID == id })
	if at < 0 {
		return errNoPage
	}
	svg, err := a.service.Wiring(v.language, id)
	if err != nil {
		return err
	}
	// The drawing escapes the words in it.
	return v.page(http.StatusOK, "unit", units[at].Name, unitPage{units[at], template.HTML(svg)})
}

// faults lists the causes there are, the commonest first.
func (a *Adapter) faults(v *visit) error {
	return v.page(http.StatusOK, "faults", v.words.Say("web-faults"), a.service.Handbook(v.language).Faults)
}

// measurements lists the readings there are.
func (a *Adapter) measurements(v *visit) error {
	return v.page(http.StatusOK, "measurements", v.words.Say("web-measurements"), a.service.Handbook(v.language).Measurements)
}
