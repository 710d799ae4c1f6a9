package refrigerant_test

import "testing"

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
