package air_test

import (
	"testing"

	"proveout/rules/air"
)

func BenchmarkWetBulb(b *testing.B) {
	m, err := air.FromHumidity(80, 50, air.StandardPressure)
	if err != nil {
		b.Fatal(err)
	}
	b.ReportAllocs()
	for b.Loop() {
		m.WetBulb()
	}
}

func BenchmarkFromWetBulb(b *testing.B) {
	b.ReportAllocs()
	for b.Loop() {
		if _, err := air.FromWetBulb(75, 63, air.StandardPressure); err != nil {
			b.Fatal(err)
		}
	}
}
