package main

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"os/exec"
	"regexp"
	"slices"
	"strconv"
	"strings"

	"golang.org/x/perf/benchfmt"
)

// measures are what benchmarks gave.
type measures struct {
	figures map[metric][]float64 // of as many runs as there were
	skipped map[metric]string    // why, of those without a figure; no unit
}

func newMeasures() *measures {
	return &measures{map[metric][]float64{}, map[metric]string{}}
}

// skips finds a benchmark that was skipped behind why.
var skips = regexp.MustCompile(`(?m)^\s+\S+:\d+: (.*)\n--- SKIP: Benchmark(\S+)`)

// read takes in what the benchmarks of a folder say.
func (m *measures) read(folder string, said []byte) error {
	for _, found := range skips.FindAllSubmatch(said, -1) {
		m.skipped[metric{folder: folder, benchmark: string(found[2])}] = string(found[1])
	}
	r := benchfmt.NewReader(bytes.NewReader(said), "")
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
			key := metric{folder, string(name), v.Unit}
			m.figures[key] = append(m.figures[key], v.Value)
		}
	}
	return r.Err()
}

// of gives the middle one of a figure's runs.
func (m *measures) of(key metric) (value float64, ok bool) {
	all := slices.Sorted(slices.Values(m.figures[key]))
	if len(all) == 0 {
		return 0, false
	}
	return all[len(all)/2], true
}

// why says why a figure is missing, as far as a benchmark, or the one it is part of, told.
func (m *measures) why(key metric) string {
	for name := key.benchmark; ; {
		if why := m.skipped[metric{folder: key.folder, benchmark: name}]; why != "" {
			return why
		}
		at := strings.LastIndexByte(name, '/')
		if at < 0 {
			return "see what the benchmark said"
		}
		name = name[:at]
	}
}

// measure runs a benchmark and takes in what it gives; all it says goes to out.
func (m *measures) measure(ctx context.Context, folder, benchmark string, count int, out io.Writer) error {
	// Five seconds give the tail of a distribution enough to stand on.
	c := exec.CommandContext(ctx, "go", "test", "-run", "^$", "-bench", "^Benchmark"+benchmark+"$",
		"-benchtime", "5s", "-count", strconv.Itoa(count), "-timeout", "1h", "-v", "./"+folder)
	var said bytes.Buffer
	c.Stdout, c.Stderr = io.MultiWriter(&said, out), out
	if err := errors.Join(c.Run(), m.read(folder, said.Bytes())); err != nil {
		return fmt.Errorf("benchmark %s in %s: %w", benchmark, folder, err)
	}
	return nil
}
