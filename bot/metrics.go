package bot

import (
	"time"

	"github.com/prometheus/client_golang/prometheus"
)

// Metrics counts what the service does.
type Metrics struct {
	messages   *prometheus.CounterVec
	latency    prometheus.Histogram
	outbox     prometheus.Gauge
	deliveries *prometheus.CounterVec
	failures   *prometheus.CounterVec
	alarms     *prometheus.CounterVec
	calls      *prometheus.CounterVec
	floods     *prometheus.CounterVec
	strangers  *prometheus.CounterVec
}

// NewMetrics makes the counters and registers them; a nil registry keeps them to
// themselves.
func NewMetrics(r prometheus.Registerer) *Metrics {
	counter := func(name, help string, labels ...string) *prometheus.CounterVec {
		return prometheus.NewCounterVec(prometheus.CounterOpts{Namespace: "proveout", Name: name, Help: help}, labels)
	}
	m := &Metrics{
		messages: counter("messages_total", "Events taken from channels.", "channel", "kind", "result"),
		latency: prometheus.NewHistogram(prometheus.HistogramOpts{
			Namespace: "proveout", Name: "message_seconds", Help: "From an event taken to its answer in the record.",
			Buckets: prometheus.ExponentialBuckets(0.0005, 2, 14),
		}),
		outbox:     prometheus.NewGauge(prometheus.GaugeOpts{Namespace: "proveout", Name: "outbox_messages", Help: "Messages waiting to be delivered."}),
		deliveries: counter("deliveries_total", "Messages delivered or given up.", "result", "channel"),
		failures:   counter("delivery_failures_total", "Tries that failed.", "channel", "reason"),
		alarms:     counter("alarms_total", "Alarms given.", "kind"),
		strangers:  counter("messages_from_strangers_total", "Messages of senders nobody knows.", "channel"),
		floods:     counter("messages_over_limit_total", "Messages not taken because too many came in.", "channel", "from"),
		calls:      counter("calls_total", "Calls proposed, confirmed, overruled.", "verdict"),
	}
	if r != nil {
		r.MustRegister(m.messages, m.latency, m.outbox, m.deliveries, m.failures, m.alarms, m.calls, m.floods, m.strangers)
	}
	return m
}

func (m *Metrics) received(in Inbound, err error, took time.Duration) {
	result := "taken"
	if err != nil {
		result = string(CodeOf(err))
	}
	m.messages.WithLabelValues(in.Channel, in.Kind, result).Inc()
	m.latency.Observe(took.Seconds())
}

func (m *Metrics) recorded(events []Event) {
	for i := range events {
		switch e := &events[i]; e.Kind {
		case EventAlarm:
			m.alarms.WithLabelValues(e.Alarm.label()).Inc()
		case EventRuled:
			m.calls.WithLabelValues(e.Verdict).Inc()
		case EventAnswered:
			if e.Reply.Proposes {
				m.calls.WithLabelValues("proposed").Inc()
			}
		default:
		}
	}
}

func (m *Metrics) flooded(channel string, known bool) {
	from := "strangers"
	if known {
		from = "people"
	}
	m.floods.WithLabelValues(channel, from).Inc()
}

func (m *Metrics) delivered(result, channel string) {
	m.deliveries.WithLabelValues(result, channel).Inc()
}

func (m *Metrics) failed(channel, reason string) { m.failures.WithLabelValues(channel, reason).Inc() }
