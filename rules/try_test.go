package rules_test

import (
	"fmt"
	"os"
	"proveout/knowledge"
	"proveout/rules"
	"proveout/rules/prove"
	"strconv"
	"testing"
	"time"
)

func TestTry(t *testing.T) {
	b, err := knowledge.Load(knowledge.Embedded())
	if err != nil {
		t.Fatal(err)
	}
	m, err := rules.Compile(b, "split-cooling", nil)
	if err != nil {
		t.Fatal(err)
	}
	noise, _ := strconv.ParseFloat(os.Getenv("NOISE"), 64)
	seeds := 1
	if noise > 0 {
		seeds = 20
	}
	t0 := time.Now()
	var mins, fl float64
	n, found, wrong, steps := 0, 0, 0, 0
	for _, x := range m.Truths() {
		for sd := 0; sd < seeds; sd++ {
			r := prove.Play(m, b, x, prove.Game{Noise: noise, Seed: uint64(sd)})
			var f float64
			if noise == 0 {
				f, _ = prove.Flow(m, b, x, prove.Game{})
			}
			ok := r.Found(b)
			n++
			mins += r.Minutes
			fl += f
			steps += r.Measurements
			if ok {
				found++
			} else if r.Called != "" {
				wrong++
			}
			if noise == 0 {
				fmt.Printf("%-5v %-36s %d called=%-34s n=%d min=%.1f flow=%.1f\n", ok, x.Fault, x.Degree, r.Called, r.Measurements, r.Minutes, f)
				if !ok || os.Getenv("V") != "" {
					for _, s := range r.Steps {
						fmt.Printf("      %s %s %s %s %s -> %.3g %s %s\n", s.Ask.Purpose, s.Ask.For, s.Ask.Key(), s.Ask.Fact, "", s.Answer.Value, s.Answer.Seen, s.Fact)
					}
					if r.Called == "" {
						sit := &rules.Situation{Facts: map[string]string{}}
						for _, s := range r.Steps {
							if s.Fact != "" {
								sit.Facts[s.Ask.Fact] = s.Fact
							} else {
								sit.Evidence = append(sit.Evidence, s.Answer)
							}
						}
						d := m.Diagnose(sit)
						for _, u := range d.Suspects {
							fmt.Printf("      SUSP %s %.3f\n", u.Fault, u.Probability)
						}
						fmt.Println("      MISSING", d.Missing, "odd", d.Odd)
					}
				}
			} else if !ok && r.Called != "" {
				fmt.Printf("WRONG %s %d seed %d called %s\n", x.Fault, x.Degree, sd, r.Called)
				if os.Getenv("V") != "" {
					for _, s := range r.Steps {
						fmt.Printf("      %s %s %s wrong=%v -> %.3g %s %s\n", s.Ask.Purpose, s.Ask.For, s.Ask.Key()+s.Ask.Fact, s.Wrong, s.Answer.Value, s.Answer.Seen, s.Fact)
					}
				}
			} else if !ok {
				fmt.Printf("STUCK %s %d seed %d n=%d\n", x.Fault, x.Degree, sd, r.Measurements)
			}
		}
	}
	fmt.Println("games", n, "found", found, "wrong", wrong, "mean min", mins/float64(n), "flow", fl/float64(n), "steps", float64(steps)/float64(n), "diag time", time.Since(t0)/time.Duration(steps+1))
}
