package main

import (
	"encoding/json"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"github.com/goccy/go-yaml"
	"github.com/prometheus/client_golang/prometheus"
	"github.com/stretchr/testify/require"

	"proveout/adapters/sms"
	"proveout/bot"
)

// outside finds a program that judges what is in deploy: installed, or unpacked by
// `make debian`. Without it the test is skipped; in CI nothing may be.
func outside(t *testing.T, program string) string {
	t.Helper()
	unpacked, err := filepath.Abs("../../.debian/usr/bin/" + program)
	require.NoError(t, err)
	for _, name := range []string{unpacked, program} {
		if found, err := exec.LookPath(name); err == nil {
			return found
		}
	}
	if os.Getenv("CI") == "true" {
		t.Fatalf("%s is missing: make debian", program)
	}
	t.Skipf("%s is missing: make debian", program)
	return ""
}

func judged(t *testing.T, program string, args ...string) {
	t.Helper()
	cmd := exec.CommandContext(t.Context(), outside(t, program), args...)
	cmd.Env = append(os.Environ(), "HOME="+t.TempDir(), "XDG_DATA_HOME="+t.TempDir(), "XDG_CONFIG_HOME="+t.TempDir())
	out, err := cmd.CombinedOutput()
	require.NoError(t, err, string(out))
}

// systemd counts what a service could still do if it were taken over, from 0 to 10;
// the threshold is in tenths.
func TestTheServiceUnitIsExposedByTwoAtMost(t *testing.T) {
	t.Parallel()
	judged(t, "systemd-analyze", "security", "--offline=true", "--threshold=20", "--no-pager", "../../deploy/proveout.service")
}

func TestTheReverseProxyReadsItsConfiguration(t *testing.T) {
	t.Parallel()
	judged(t, "caddy", "validate", "--adapter", "caddyfile", "--config", "../../deploy/Caddyfile")
}

func TestAlertsRingWhereTheyShouldAndNowhereElse(t *testing.T) {
	t.Parallel()
	judged(t, "promtool", "check", "config", "../../deploy/prometheus.yaml")
	judged(t, "promtool", "test", "rules", "../../deploy/alerts_test.yaml")
}

// shownBy are the expressions of the dashboard's panels.
func shownBy(t *testing.T) []string {
	t.Helper()
	b, err := os.ReadFile("../../deploy/dashboard.json")
	require.NoError(t, err)
	var board struct {
		Panels []struct {
			Targets []struct{ Expr string }
		}
	}
	require.NoError(t, json.Unmarshal(b, &board))
	var out []string
	for _, p := range board.Panels {
		require.NotEmpty(t, p.Targets)
		for _, target := range p.Targets {
			out = append(out, target.Expr)
		}
	}
	return out
}

func TestTheDashboardsExpressionsCanBeRead(t *testing.T) {
	t.Parallel()
	type rule struct{ Record, Expr string }
	var rules []rule
	for _, expr := range shownBy(t) { // the dashboard fills in its variables
		rules = append(rules, rule{"shown", strings.ReplaceAll(expr, "$__rate_interval", "5m")})
	}
	b, err := yaml.Marshal(map[string]any{"groups": []any{map[string]any{"name": "dashboard", "rules": rules}}})
	require.NoError(t, err)
	file := filepath.Join(t.TempDir(), "dashboard.yaml")
	require.NoError(t, os.WriteFile(file, b, 0o600))
	judged(t, "promtool", "check", "rules", "--lint=none", file)
}

// A metric renamed in Go would leave an alert that never rings.
func TestEveryMetricNamedInDeployIsThere(t *testing.T) {
	t.Parallel()
	s := &shop{}
	counts := s.count()
	bot.NewMetrics(counts)
	sms.NewMetrics(counts)
	descriptions := make(chan *prometheus.Desc)
	go func() {
		s.counts.Load().Describe(descriptions)
		close(descriptions)
	}()
	there := map[string]bool{}
	for d := range descriptions {
		there[regexp.MustCompile(`fqName: "([^"]+)"`).FindStringSubmatch(d.String())[1]] = true
	}
	alerts, err := os.ReadFile("../../deploy/alerts.yaml")
	require.NoError(t, err)
	shown := strings.Join(shownBy(t), "\n")
	named := regexp.MustCompile(`\bproveout_[a-z_]+`)
	for _, text := range []string{string(alerts), shown} {
		for _, name := range named.FindAllString(text, -1) {
			require.True(t, there[strings.TrimSuffix(name, "_bucket")], name)
		}
	}
}
