package main

import "slices"

// metric is one figure of a benchmark: the package's folder, the benchmark without its
// prefix, and the unit it is reported in.
type metric struct{ folder, benchmark, unit string }

// bar is a line of the table. Without a reference the limit is of what is measured, with
// one it is of how many times the reference that is. Without a limit the line is there to
// be read beside others.
type bar struct {
	what     string
	must     string // the bar in words
	measured metric
	shown    string // the unit as people write it
	beside   metric // the reference, or none
	being    string // what the reference is
	limit    float64
	least    bool // the limit is the least, and not the most
}

// bars lists them in the order of the table.
func bars() []bar {
	message := metric{"bot", "Service/message", "ms-message-p99"}
	restart := metric{"bot", "Service/restart", "s/restart"}
	saturation := metric{"rules/refrigerant", "SaturationTemperature", "ns/op"}
	minutes := metric{"rules/prove", "MinutesToTheCall", "min-call"}
	return append([]bar{
		{
			what: "message in to reply stored, durable, 10,000 open jobs", must: "p99 within 2 × a bare durable insert",
			measured: message, shown: "ms", beside: message.in("ms-insert-p99"), being: "an insert", limit: 2,
		},
		{
			what: "understanding a message", must: "≤ 150 µs median",
			measured: metric{"dialog/understand", "Labelled", "µs-median"}, shown: "µs", limit: 150,
		},
		{
			what: "diagnosis after one more reading", must: "≤ 2 ms median",
			measured: metric{"rules", "Diagnose", "ms-median"}, shown: "ms", limit: 2,
		},
		{what: "saturation temperature", must: "≤ 60 ns", measured: saturation, shown: "ns", limit: 60},
		{
			what: "saturation temperature", must: "within 0.05 °F of the equation of state",
			measured: saturation.in("°F-off"), shown: "°F", limit: 0.05,
		},
		{what: "restart with 1,000,000 events, to the first reply", must: "≤ 3 s", measured: restart, shown: "s", limit: 3},
		{what: "memory at 10,000 open jobs", must: "≤ 500 MiB", measured: restart.in("MiB-peak"), shown: "MiB", limit: 500},
		{
			what: "telling faults apart that look alike on arrival", must: "≤ 1.05 × the optimal policy",
			measured: minutes.in("min-apart"), shown: "min", beside: minutes.in("min-optimal"), being: "the optimum", limit: 1.05,
		},
		{
			what: "minutes to the call over all faults", must: "≤ 0.5 × a fixed flowchart",
			measured: minutes, shown: "min", beside: minutes.in("min-flowchart"), being: "the flowchart", limit: 0.5,
		},
	}, slices.Concat(growth(), scaling())...)
}

// growth are the bars of a shop that grows, one for each record.
func growth() []bar {
	var out []bar
	for _, store := range []struct{ name, called string }{{"sqlite", "SQLite"}, {"postgres", "PostgreSQL"}} {
		for _, size := range []struct{ unit, jobs string }{{"ms-at-10000", "10,000"}, {"ms-at-100000", "100,000"}} {
			m := metric{"bot", "Growth/" + store.name, size.unit}
			out = append(out, bar{
				what: "a message at " + size.jobs + " open jobs, " + store.called, must: "≤ 1.5 × at 1,000",
				measured: m, shown: "ms", beside: m.in("ms-at-1000"), being: "at 1,000", limit: 1.5,
			})
		}
	}
	return out
}

// in is another figure of the same benchmark.
func (m metric) in(unit string) metric {
	m.unit = unit
	return m
}

// scaling are the bars of several instances on one database. What two cores permit is
// told beside them: there the instances, the database and what loads them share.
func scaling() []bar {
	const each = "each with its share of a core"
	shares := func(n string) metric { return metric{"bot/soak", "Scale/shares/" + n, "messages/s"} }
	free := func(n string) metric { return metric{"bot/soak", "Scale/free/" + n, "messages/s"} }
	return []bar{
		{
			what: "two instances on PostgreSQL, " + each, must: "≥ 1.7 × one", measured: shares("2"), shown: "messages/s",
			beside: shares("1"), being: "of one", limit: 1.7, least: true,
		},
		{
			what: "three instances on PostgreSQL, " + each, must: "≥ 2.3 × one", measured: shares("3"), shown: "messages/s",
			beside: shares("1"), being: "of one", limit: 2.3, least: true,
		},
		{what: "the share", measured: shares("3").in("core-%-share"), shown: "% of a core"},
		{what: "what the database took meanwhile", measured: shares("3").in("core-%-database"), shown: "% of a core"},
		{what: "two instances with all this machine has", measured: free("2"), shown: "messages/s", beside: free("1"), being: "of one"},
		{what: "three instances with all this machine has", measured: free("3"), shown: "messages/s", beside: free("1"), being: "of one"},
		{what: "what the three took", measured: free("3").in("core-%-instances"), shown: "% of a core"},
		{what: "what the database took", measured: free("3").in("core-%-database"), shown: "% of a core"},
		{what: "what loads them took", measured: free("3").in("core-%-channel"), shown: "% of a core"},
	}
}
