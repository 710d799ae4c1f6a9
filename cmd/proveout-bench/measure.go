package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os/exec"
	"slices"
	"strconv"
	"strings"

	"golang.org/x/perf/benchfmt"
)

// module is the path every package of the house begins with.
const module = "proveout/"

// measures are the figures the benchmarks gave, of as many runs as there were.
type measures map[metric][]float64

// read takes the output of benchmarks in.
func (m measures) read(from io.Reader) error {
	r := benchfmt.NewReader(from, "")
	for r.Scan() {
		// What is no result is what a test says beside it.
		result, ok := r.Result().(*benchfmt.Result)
		if !ok {
			continue
		}
		name := result.Name.Full()
		if _, parts := result.Name.Parts(); len(parts) > 0 && parts[len(parts)-1][0] == '-' {
			name = name[:len(name)-len(parts[len(parts)-1])] // the number of processors
		}
		for _, v := range result.Values {
			if v.OrigUnit != "" {
				v.Value, v.Unit = v.OrigValue, v.OrigUnit
			}
			key := metric{strings.TrimPrefix(result.GetConfig("pkg"), module), string(name), v.Unit}
			m[key] = append(m[key], v.Value)
		}
	}
	return r.Err()
}

// of gives the middle one of a figure's runs.
func (m measures) of(key metric) (value float64, ok bool) {
	all := slices.Sorted(slices.Values(m[key]))
	if len(all) == 0 {
		return 0, false
	}
	return all[len(all)/2], true
}

// measure runs a benchmark and takes in what it gives; all it says goes to out.
func (m measures) measure(ctx context.Context, folder, benchmark string, count int, out io.Writer) error {
	// Five seconds give the tail of a distribution enough to stand on.
	c := exec.CommandContext(ctx, "go", "test", "-run", "^$", "-bench", "^Benchmark"+benchmark+"$",
		"-benchtime", "5s", "-count", strconv.Itoa(count), "-timeout", "1h", "-v", "./"+folder)
	c.Stderr = out
	pipe, err := c.StdoutPipe()
	if err != nil {
		return err
	}
	if err := c.Start(); err != nil {
		return fmt.Errorf("running the benchmarks, in the folder of the module: %w", err)
	}
	err = m.read(io.TeeReader(pipe, out))
	if err = errors.Join(err, c.Wait()); err != nil {
		return fmt.Errorf("benchmark %s in %s: %w", benchmark, folder, err)
	}
	return nil
}
