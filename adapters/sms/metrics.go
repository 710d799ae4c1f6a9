package sms

import "github.com/prometheus/client_golang/prometheus"

// Metrics count the requests of a gateway by what became of them.
type Metrics struct {
	requests *prometheus.CounterVec
	texts    *prometheus.CounterVec
	parts    prometheus.Counter
}

// NewMetrics makes the counters and registers them; a nil registry keeps them to
// themselves.
func NewMetrics(r prometheus.Registerer) *Metrics {
	m := &Metrics{
		requests: prometheus.NewCounterVec(prometheus.CounterOpts{
			Namespace: "proveout", Subsystem: "sms", Name: "requests_total", Help: "Requests of the gateway, by what became of them.",
		}, []string{"hook", "result"}),
		texts: prometheus.NewCounterVec(prometheus.CounterOpts{
			Namespace: "proveout", Subsystem: "sms", Name: "parts_sent_total", Help: "Parts of texts sent, as the network counts them.",
		}, []string{"alphabet"}),
		parts: prometheus.NewCounter(prometheus.CounterOpts{
			Namespace: "proveout", Subsystem: "sms", Name: "incomplete_total", Help: "Long texts handed over without all their parts.",
		}),
	}
	if r != nil {
		r.MustRegister(m.requests, m.texts, m.parts)
	}
	return m
}
