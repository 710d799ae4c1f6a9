package refrigerant_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"

	"proveout/rules/refrigerant"
)

// BenchmarkSaturationTemperature looks up every row of the equation of state, on both
// lines of every refrigerant, and reports how far off the worst of them is: the bars are
// 60 ns and 0.05 °F.
func BenchmarkSaturationTemperature(b *testing.B) {
	type look struct {
		at      func(float64) (float64, error)
		psia, f float64
	}
	var looks []look
	for name, table := range tables(b) {
		for _, row := range rows(b, "equation-of-state/"+name+".csv") {
			f := number(b, row["temperature_f"])
			looks = append(looks,
				look{table.BubbleTemperature, number(b, row["bubble_psig"]) + refrigerant.StandardAtmosphere, f},
				look{table.DewTemperature, number(b, row["dew_psig"]) + refrigerant.StandardAtmosphere, f})
		}
	}
	off := 0.0
	for _, l := range looks {
		got, err := l.at(l.psia)
		require.NoError(b, err)
		off = max(off, math.Abs(got-l.f))
	}
	i := 0
	for b.Loop() {
		if _, err := looks[i].at(looks[i].psia); err != nil {
			b.Fatal(err)
		}
		if i++; i == len(looks) {
			i = 0
		}
	}
	b.ReportMetric(off, "°F-off")
}

func BenchmarkDewTemperature(b *testing.B) {
	table := tables(b)["R-410A"]
	b.ReportAllocs()
	psia := 100.0
	for b.Loop() {
		if _, err := table.DewTemperature(psia); err != nil {
			b.Fatal(err)
		}
		if psia += 1.37; psia > 600 {
			psia = 100
		}
	}
}

func BenchmarkBubblePressure(b *testing.B) {
	table := tables(b)["R-454B"]
	b.ReportAllocs()
	f := -40.0
	for b.Loop() {
		if _, err := table.BubblePressure(f); err != nil {
			b.Fatal(err)
		}
		if f += 0.37; f > 150 {
			f = -40
		}
	}
}

func BenchmarkSuperheat(b *testing.B) {
	table := tables(b)["R-410A"]
	b.ReportAllocs()
	for b.Loop() {
		if _, err := table.Superheat(132.7, 64); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkDew(b *testing.B) {
	table := tables(b)["R-410A"]
	b.ReportAllocs()
	for b.Loop() {
		table.Dew(43.7)
	}
}
