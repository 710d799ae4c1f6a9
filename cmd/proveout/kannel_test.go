package main

import (
	"bufio"
	"context"
	"fmt"
	"maps"
	"net"
	"net/http"
	"net/url"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"sync"
	"syscall"
	"testing"
	"time"

	"github.com/prometheus/client_golang/prometheus"
	"github.com/stretchr/testify/require"

	"proveout/adapters/sms"
	"proveout/bot"
)

// The numbers of the shop and of its technician, as in deploy/sms/larkmoor.yaml.
const (
	shopNumber = "+13035550100"
	anaNumber  = "+13035550123"
)

// needKannel skips where Kannel is not installed; in CI nothing is skipped.
func needKannel(t *testing.T) {
	t.Helper()
	for _, name := range []string{"bearerbox", "smsbox", "/usr/lib/kannel/test/fakesmsc"} {
		if _, err := exec.LookPath(name); err != nil {
			if os.Getenv("CI") != "" {
				t.Fatal("Kannel is not installed, and in CI no outside check is skipped: make kannel")
			}
			t.Skip("Kannel is not installed; texts are not sent through it (make kannel)")
		}
	}
}

// deployed copies deploy/sms with every port a free one, so that a Kannel that runs
// here already is left alone, and gives where the copy is and the ports by what they
// are in the original.
func deployed(t *testing.T) (dir string, ports map[string]string) {
	t.Helper()
	ports = map[string]string{}
	var held []net.Listener
	for _, port := range []string{"9464", "14000", "14001", "14013", "14020"} {
		l, err := (&net.ListenConfig{}).Listen(t.Context(), "tcp", "127.0.0.1:0")
		require.NoError(t, err)
		held = append(held, l)
		_, ports[port], err = net.SplitHostPort(l.Addr().String())
		require.NoError(t, err)
	}
	for _, l := range held {
		require.NoError(t, l.Close())
	}
	dir = t.TempDir()
	require.NoError(t, os.MkdirAll(filepath.Join(dir, "deploy/sms"), 0o700))
	files, err := filepath.Glob("../../deploy/sms/*")
	require.NoError(t, err)
	for _, f := range files {
		text, err := os.ReadFile(f)
		require.NoError(t, err)
		require.NoError(t, os.WriteFile(filepath.Join(dir, "deploy/sms", filepath.Base(f)), []byte(moved(string(text), ports)), 0o600))
	}
	return dir, ports
}

// moved writes a text with the free ports.
func moved(text string, ports map[string]string) string {
	for _, port := range slices.Sorted(maps.Keys(ports)) {
		text = regexp.MustCompile(`\b`+port+`\b`).ReplaceAllString(text, ports[port])
	}
	return text
}

// program is a command of a shell that runs until the test ends.
type program struct {
	mu  sync.Mutex
	out strings.Builder
}

// start starts a command of the README in a folder. It is ended, with what it started, by
// its id.
func start(t *testing.T, dir, command string) *program {
	t.Helper()
	p := &program{}
	cmd := exec.CommandContext(t.Context(), "sh", "-c", command)
	cmd.Dir = dir
	cmd.SysProcAttr = &syscall.SysProcAttr{Setpgid: true}
	cmd.Cancel = func() error { return syscall.Kill(-cmd.Process.Pid, syscall.SIGTERM) }
	cmd.WaitDelay = 10 * time.Second
	cmd.Stdout, cmd.Stderr = p, p
	require.NoError(t, cmd.Start())
	t.Cleanup(func() {
		_ = syscall.Kill(-cmd.Process.Pid, syscall.SIGTERM) // it may have ended
		_ = cmd.Wait()                                      // a signal is no success
		if t.Failed() {
			t.Logf("$ %s\n%s", command, p)
		}
	})
	return p
}

// Write takes what the program writes.
func (p *program) Write(b []byte) (int, error) {
	p.mu.Lock()
	defer p.mu.Unlock()
	return p.out.Write(b)
}

// String is what it has written.
func (p *program) String() string {
	p.mu.Lock()
	defer p.mu.Unlock()
	return p.out.String()
}

// gatewayPatience is how long a test waits for another program.
const gatewayPatience = 30 * time.Second

// eventually waits for something another program does.
func eventually(t *testing.T, holds func() bool, what string) {
	t.Helper()
	require.Eventually(t, holds, gatewayPatience, 20*time.Millisecond, what)
}

// listens waits until a port is listened on.
func listens(t *testing.T, port string) {
	t.Helper()
	eventually(t, func() bool {
		c, err := (&net.Dialer{}).DialContext(t.Context(), "tcp", "127.0.0.1:"+port)
		return err == nil && c.Close() == nil
	}, "nothing listens on "+port)
}

// commands are those of the README from nothing to a text answered.
func commands(t *testing.T) []string {
	t.Helper()
	text, err := os.ReadFile("../../deploy/sms/README.md")
	require.NoError(t, err)
	_, block, ok := strings.Cut(string(text), "```sh\n")
	require.True(t, ok)
	block, _, ok = strings.Cut(block, "```")
	require.True(t, ok)
	return strings.Split(strings.TrimSpace(block), "\n")
}

// The README's five commands, as they stand there, but for the ports and for the
// installation, which has been done.
func TestTheREADMEOfTextsLeadsToATextAnswered(t *testing.T) {
	t.Parallel()
	needKannel(t)
	dir, ports := deployed(t)
	lines := commands(t)
	require.Len(t, lines, 5)
	require.Contains(t, lines[0], "apt-get install")
	for i, port := range []string{"", "14020", "14013", "9464"} {
		if port != "" {
			start(t, dir, strings.Replace(moved(lines[i], ports), "go run ./cmd/proveout", "proveout", 1))
			listens(t, ports[port])
		}
	}
	phone := start(t, dir, moved(lines[4], ports))
	shows := func(text string) bool { // a long answer comes in parts, escaped
		return strings.Contains(phone.String(), text) || strings.Contains(phone.String(), url.QueryEscape(text))
	}
	eventually(t, func() bool { return shows("MORE for the rest.") }, "the answer is not on the phone")
	require.True(t, shows("Next: Is the contactor pulled in"))
}

// handset is the phone at Kannel's message centre, which speaks in lines.
type handset struct {
	t    *testing.T
	conn net.Conn

	mu    sync.Mutex
	texts []string
	seen  int
	news  chan struct{}
}

// handsetAt connects a phone.
func handsetAt(t *testing.T, port string) *handset {
	t.Helper()
	conn, err := (&net.Dialer{}).DialContext(t.Context(), "tcp", "127.0.0.1:"+port)
	require.NoError(t, err)
	h := &handset{t: t, conn: conn, news: make(chan struct{}, 1)}
	done := make(chan struct{})
	go func() { defer close(done); h.read() }()
	t.Cleanup(func() { _ = conn.Close(); <-done })
	return h
}

// What a text begins with: from, to, and how it is written; of a part of a long one the
// header too, whose last two octets are how many parts there are and which it is.
var (
	textHead = regexp.MustCompile(`^\+\d+ \+\d+ text (.*)$`)
	partHead = regexp.MustCompile(`^\+\d+ \+\d+ udh \S*%(\d\d)%(\d\d) data (.*)$`)
)

// read takes texts: a line that begins none goes on the last, and the parts of a long one
// come one after another.
func (h *handset) read() {
	in, long := bufio.NewScanner(h.conn), ""
	for in.Scan() {
		if m := partHead.FindStringSubmatch(in.Text()); m != nil {
			part, err := url.QueryUnescape(m[3])
			if err != nil {
				part = err.Error()
			}
			if long += part; m[1] == m[2] {
				h.shows(long)
				long = ""
			}
			continue
		}
		if m := textHead.FindStringSubmatch(in.Text()); m != nil {
			h.shows(m[1])
			continue
		}
		h.shows("\n" + in.Text())
	}
}

// shows puts a text on the screen, or a further line of the last.
func (h *handset) shows(text string) {
	h.mu.Lock()
	if strings.HasPrefix(text, "\n") && len(h.texts) > 0 {
		h.texts[len(h.texts)-1] += text
	} else {
		h.texts = append(h.texts, text)
	}
	h.mu.Unlock()
	select {
	case h.news <- struct{}{}:
	default:
	}
}

// says texts the shop.
func (h *handset) says(text string) {
	h.t.Helper()
	_, err := fmt.Fprintf(h.conn, "%s %s text %s\n", anaNumber, shopNumber, text)
	require.NoError(h.t, err)
}

// gets waits for a text with something in it, and gives it with all that came since it
// was last looked at.
func (h *handset) gets(text string) string {
	h.t.Helper()
	deadline := time.NewTimer(gatewayPatience)
	defer deadline.Stop()
	for {
		h.mu.Lock()
		all := strings.Join(h.texts[h.seen:], "\n")
		if strings.Contains(all, text) {
			h.seen = len(h.texts)
			h.mu.Unlock()
			return all
		}
		h.mu.Unlock()
		select {
		case <-h.news:
		case <-deadline.C:
			h.t.Fatalf("%q is not on the phone; what came is %q", text, all)
		}
	}
}

// textsIn has a shop take texts through a gateway described in a folder, on a port.
func textsIn(t *testing.T, dir, port string, registry *prometheus.Registry) func(w *workspace) func(context.Context) error {
	t.Helper()
	return func(w *workspace) func(context.Context) error {
		config := w.config
		config.Record = filepath.Join(dir, "record.db")
		config.Channels = map[string]bot.Channel{bot.Texts: {
			Settings: map[string]string{gatewaySetting: filepath.Join(dir, "deploy/sms/kannel.yaml"), numberSetting: shopNumber},
			Secrets:  map[string]bot.Secret{"password": {File: filepath.Join(dir, "password")}},
		}}
		require.NoError(t, os.WriteFile(filepath.Join(dir, "password"), []byte("loopback"), 0o600))
		s := &shop{config: config}
		require.NoError(t, s.unlock())
		s.keys.texts.Metrics = sms.NewMetrics(registry)
		adapter, err := sms.New(w.service, s.keys.texts)
		require.NoError(t, err)
		require.NoError(t, w.service.Register(bot.Texts, adapter))
		mux := http.NewServeMux()
		for _, path := range adapter.Paths() {
			mux.Handle(path, adapter)
		}
		l, err := (&net.ListenConfig{}).Listen(t.Context(), "tcp", "127.0.0.1:"+port)
		require.NoError(t, err)
		return func(ctx context.Context) error { return serveHTTP(ctx, l, mux) }
	}
}

// A whole job by text, through a real Kannel in both directions with its delivery
// receipts: the technician on a phone, the senior in the job's thread in Slack, the
// dispatcher watching, to the repair, the checks and the close.
func TestAWholeJobByTextThroughKannel(t *testing.T) {
	t.Parallel()
	needKannel(t)
	dir, ports := deployed(t)
	registry := prometheus.NewRegistry()
	w := openShop(t, func(c *bot.Config) {
		c.People["ana"].Identities = map[string]string{bot.Texts: anaNumber}
		c.Channels[bot.Texts] = bot.Channel{}
	}, textsIn(t, dir, ports["9464"], registry))
	start(t, dir, moved("bearerbox -v 2 deploy/sms/kannel.conf", ports))
	listens(t, ports["14020"])
	start(t, dir, moved("smsbox -v 2 deploy/sms/kannel.conf", ports))
	listens(t, ports["14013"])
	phone := handsetAt(t, ports["14020"])

	phone.says("no cooling at 12 Fenwick. condenser fan runs, compressor is silent, blower is running")
	require.Contains(t, phone.gets("MORE for the rest."), "Next: read the amps on the compressor start wire")
	phone.says("MORE")
	require.Contains(t, phone.gets("AC amps: jaw around the one wire"), "Clamp around insulated wire only, and keep fingers")
	for _, say := range [][2]string{
		{"236 at the bottom of the contactor", "Read as: 236 V"},
		{"0 amps on common", "Read as: 0 A"},
		{"c to s OL", "Read as: OL"},
		{"c to r OL", "Read as: OL"},
		{"r to s 3.3", "Read as: 3.3"},
		{"cap is a 45/5, herm reads 44.6", "44.6 uF"},
	} {
		phone.says(say[0])
		phone.gets(say[1])
	}
	phone.says("shell is cold")
	call := phone.gets("Call: open compressor overload")
	for _, said := range []string{"A senior confirms first.", "Off, locked, proven dead.", "Certified only, recover."} {
		require.Contains(t, call, said)
	}

	w.happens(t, w.Command(room, dee, "/proveout", "status"))
	posts, shown := w.fresh(room)
	require.Contains(t, shown, "Ana: shell is cold", "what is texted stands in the job's thread")
	require.Contains(t, shown, "J-1001 Ana, proposed", "and the dispatcher sees where it stands")
	require.NotContains(t, shown, anaNumber)
	thread := ""
	for _, p := range posts {
		if strings.Contains(p.Shown, "shell is cold") {
			thread = p.Thread
		}
	}
	require.NotEmpty(t, thread)
	w.says(t, sam, thread, "did you let it cool for an hour?")
	phone.gets("Sam: did you let it cool for an hour?")
	w.says(t, sam, thread, "override, it is an open wire at the contactor coil")
	require.Contains(t, phone.gets("open wire at the contactor coil"), "Repair: Find the loose wire at the coil")

	phone.says("fixed the wire, done")
	phone.gets("Now prove it well")
	for _, say := range [][2]string{{"coil reads 26", "Check: "}, {"comp running", "Check: "}, {"ran a full cycle", "Job closed, repaired and proven well: open wire at the contactor coil."}} {
		phone.says(say[0])
		phone.gets(say[1])
	}
	require.Contains(t, w.report(t, "J-1001"), "fixed the wire, done")

	eventually(t, func() bool { return counted(t, registry, "receipt", "taken") >= 14 }, "the receipts did not come")
	require.Empty(t, w.service.Undelivered())
	require.Zero(t, counted(t, registry, "receive", "unsigned"))
}

// counted is how many requests of the gateway had a result.
func counted(t *testing.T, registry *prometheus.Registry, hook, result string) float64 {
	t.Helper()
	families, err := registry.Gather()
	require.NoError(t, err)
	for _, f := range families {
		for _, m := range f.GetMetric() {
			if l := m.GetLabel(); f.GetName() == "proveout_sms_requests_total" && l[0].GetValue() == hook && l[1].GetValue() == result {
				return m.GetCounter().GetValue()
			}
		}
	}
	return 0
}
