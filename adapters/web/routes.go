package web

import (
	"net/http"

	"proveout/bot"
)

// rule says who may ask for an address: a set of roles, or anyone. The zero rule is
// nobody, so a route whose rule was forgotten is one that nobody reaches.
type rule uint8

// The rules are made of these.
const (
	stranger rule = 1 << iota // not signed in
	technician
	senior
	dispatcher
	owner

	field  = technician | senior // who may be out at a job
	office = senior | dispatcher | owner
	known  = technician | office
	anyone = stranger | known
)

// of is the rule a role falls under.
func of(r bot.Role) rule {
	switch r {
	case bot.TechnicianRole:
		return technician
	case bot.SeniorRole:
		return senior
	case bot.DispatcherRole:
		return dispatcher
	case bot.OwnerRole:
		return owner
	default:
		return 0
	}
}

// lets says whether the rule lets a person in; the zero one is a stranger.
func (r rule) lets(m bot.Member) bool {
	if m.ID == "" {
		return r&stranger != 0
	}
	return r&of(m.Role) != 0
}

// route is an address, who may ask for it, and what answers.
type route struct {
	pattern string
	who     rule
	answer  func(*visit) error
}

// routes are all there are. What a person may see of what is behind an address, which
// job is his, the service decides besides.
func (a *Adapter) routes() []route {
	table := []route{
		{"GET /{$}", anyone, a.home},
		{"GET /static/{name}", anyone, a.static},
		{"GET /worker.js", anyone, a.fixed("worker.js")},
		{"GET /manifest.webmanifest", anyone, a.fixed("manifest.webmanifest")},
		{"GET /icon.svg", anyone, a.fixed("icon.svg")},
		{"GET /icon-192.png", anyone, a.fixed("icon-192.png")},
		{"GET /icon-512.png", anyone, a.fixed("icon-512.png")},
		{"GET /board", office, a.board},
		{"GET /board/live", office, a.boardLive},
		{"GET /jobs/{job}", office, a.job},
		{"GET /jobs/{job}/live", office, a.jobLive},
		{"GET /jobs/{job}/report", office, a.report},
		{"GET /jobs/{job}/circuit.svg", office, a.circuit},
		{"POST /jobs/{job}/say", office, a.say},
		{"POST /jobs/{job}/act", office, a.act},
		{"GET /talk", field, a.talks},
		{"POST /talk", field, a.begin},
		{"GET /talk/{job}", field, a.talk},
		{"GET /talk/{job}/live", field, a.talkLive},
		{"GET /talk/{job}/circuit.svg", field, a.ownCircuit},
		{"POST /talk/{job}", field, a.tell},
		{"GET /knowledge", known, a.handbook},
		{"GET /knowledge/units/{unit}", known, a.unit},
		{"GET /knowledge/faults", known, a.faults},
		{"GET /knowledge/measurements", known, a.measurements},
		{"GET /sign-in", anyone, a.signIn},
		{"GET /me", known, a.me},
		{"POST /sign-out", known, a.signOut},
	}
	if a.Demo {
		return append(table, route{"POST /demo", known, a.lookAs})
	}
	return append(table,
		route{"POST /sign-in", stranger, a.sendCode},
		route{"POST /sign-in/code", stranger, a.enter},
		route{"GET /sign-in/company", stranger, a.toCompany},
		route{"GET /sign-in/company/back", stranger, a.fromCompany},
	)
}

// mostForm is how many bytes a form may have: a long message, every letter of it escaped.
const mostForm = 64 << 10

// handler serves a table.
func (a *Adapter) handler(table []route) http.Handler {
	mux := http.NewServeMux()
	for _, r := range table {
		mux.HandleFunc(r.pattern, func(w http.ResponseWriter, req *http.Request) { a.admit(w, req, r) })
	}
	mux.HandleFunc("/", func(w http.ResponseWriter, req *http.Request) {
		a.admit(w, req, route{"/", anyone, func(*visit) error { return errNoPage }})
	})
	return secured(a.style, a.origin.Handler(http.MaxBytesHandler(mux, mostForm)))
}
