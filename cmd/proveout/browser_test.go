package main

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"net/http"
	"net/http/httptest"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"sync/atomic"
	"testing"
	"time"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/cdproto/network"
	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/require"
)

// axe is where make axe puts the npm package that finds what keeps people from using a
// page.
const axe = "../../.axe/node_modules/axe-core/axe.min.js"

// browser is a headless Chromium that looks at a shop's pages. Each person's tab in it
// has cookies of its own.
type browser struct {
	ctx    context.Context
	shop   *workspace
	server *httptest.Server
	dead   atomic.Bool // there is no signal
	shots  string      // where screenshots go
	axe    string      // the script
}

// openBrowser starts one, or skips the test where it is not installed; in CI nothing is
// skipped.
func openBrowser(t testing.TB, shop *workspace) *browser {
	t.Helper()
	path, noBrowser := exec.LookPath("chromium")
	script, noAxe := os.ReadFile(axe)
	if noBrowser != nil || noAxe != nil {
		if os.Getenv("CI") != "" {
			t.Fatal("Chromium or the package axe-core is not installed, and in CI no outside check is skipped: make chromium axe")
		}
		t.Skip("Chromium or the package axe-core is not installed; the pages are not tried in it (make chromium axe)")
	}
	options := append(chromedp.DefaultExecAllocatorOptions[:], chromedp.ExecPath(path), chromedp.UserDataDir(t.TempDir()))
	if os.Getuid() == 0 {
		options = append(options, chromedp.NoSandbox) // Chromium has none for root
	}
	ctx, stop := chromedp.NewExecAllocator(t.Context(), options...)
	t.Cleanup(stop)
	ctx, leave := chromedp.NewContext(ctx)
	t.Cleanup(leave)
	require.NoError(t, chromedp.Do(ctx))
	b := &browser{ctx: ctx, shop: shop, shots: os.Getenv("SHOTS"), axe: string(script)}
	b.server = httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if b.dead.Load() {
			panic(http.ErrAbortHandler) // nothing comes back
		}
		shop.pages.ServeHTTP(w, r)
	}))
	t.Cleanup(func() {
		b.server.CloseClientConnections()
		b.server.Close()
	})
	if b.shots == "" {
		b.shots = t.TempDir()
	}
	return b
}

// signal gives or takes away the way to the pages.
func (b *browser) signal(there bool) {
	b.dead.Store(!there)
	b.server.CloseClientConnections()
}

// tab is one person's browser.
type tab struct {
	*browser
	t    testing.TB
	ctx  context.Context
	name string
}

func (b *browser) tab(t testing.TB, name string, phone bool) *tab {
	t.Helper()
	ctx, leave := chromedp.NewContext(b.ctx, chromedp.WithNewBrowserContext())
	t.Cleanup(leave)
	at := &tab{b, t, ctx, name}
	require.NoError(t, chromedp.Do(ctx))
	if phone {
		at.do(chromedp.EmulateViewport(390, 844, chromedp.EmulateMobile, chromedp.EmulateTouch))
	} else {
		at.do(chromedp.EmulateViewport(1280, 900))
	}
	return at
}

// within bounds what a page takes, so that a test that waits in vain says for what.
const within = 30 * time.Second

func (at *tab) do(steps ...chromedp.Action[chromedp.Void]) {
	at.t.Helper()
	ctx, stop := context.WithTimeout(at.ctx, within)
	defer stop()
	if err := chromedp.Do(ctx, steps...); err != nil {
		seen, _ := chromedp.Run(at.ctx, chromedp.Evaluate[string](`location.href + "\n" + document.body.innerText`))
		require.NoError(at.t, err, "%s sees %s", at.name, seen)
	}
}

// get asks the page something.
func get[T any](at *tab, expression string) T {
	at.t.Helper()
	ctx, stop := context.WithTimeout(at.ctx, within)
	defer stop()
	v, err := chromedp.Run(ctx, chromedp.Evaluate[T](expression, chromedp.EvalAwaitPromise))
	require.NoError(at.t, err, expression)
	return v
}

// sees waits until an element's text holds what a person looks for. The page may be
// giving way to the next meanwhile, and then cannot be asked.
func (at *tab) sees(selector, text string) {
	at.t.Helper()
	look, err := json.Marshal([]string{selector, text})
	require.NoError(at.t, err)
	at.do(chromedp.Func(func(ctx context.Context, target *chromedp.Target) error {
		again := time.NewTicker(50 * time.Millisecond)
		defer again.Stop()
		for {
			there, err := chromedp.Evaluate[bool](`(([s, t]) => [...document.querySelectorAll(s)].some((e) => e.innerText.includes(t)))(`+string(look)+`)`)(ctx, target)
			if err == nil && there {
				return nil
			}
			select {
			case <-ctx.Done():
				return fmt.Errorf("%s never showed %q: %w", selector, text, errors.Join(err, ctx.Err()))
			case <-again.C:
			}
		}
	}))
}

// opens asks for a page.
func (at *tab) opens(path string) { at.do(chromedp.Navigate(at.server.URL + path)) }

// presses a button or a link and waits for the page it leads to.
func (at *tab) presses(selector string) {
	at.t.Helper()
	at.do(chromedp.ScrollIntoView(chromedp.CSS(selector)), chromedp.Click(chromedp.CSS(selector)))
}

// writes into a field.
func (at *tab) writes(selector, text string) {
	at.t.Helper()
	at.do(chromedp.SendKeys(chromedp.CSS(selector), text))
}

// signsIn with the code that the person's own channel brings.
func (at *tab) signsIn(name, conversation string) {
	at.t.Helper()
	at.opens("/")
	at.writes("#who", name)
	at.presses("main button.first")
	at.do(chromedp.WaitVisible(chromedp.CSS("#code")))
	at.writes("#code", at.shop.code(at.t, conversation))
	at.presses("main button.first")
	at.do(chromedp.WaitVisible(chromedp.CSS(".top nav")))
}

// scheme shows the page in light or in dark.
func (at *tab) scheme(value string) {
	at.do(chromedp.Func(func(ctx context.Context, target *chromedp.Target) error {
		_, err := cdp.Call(ctx, target, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{
			Features: []*emulation.MediaFeature{{Name: "prefers-color-scheme", Value: value}},
		})
		return err
	}))
}

// shot keeps a picture of the whole page.
func (at *tab) shot(name string) {
	at.t.Helper()
	ctx, stop := context.WithTimeout(at.ctx, within)
	defer stop()
	png, err := chromedp.Run(ctx, chromedp.FullScreenshot(100))
	require.NoError(at.t, err)
	path := filepath.Join(at.shots, at.name+"-"+name+".png")
	require.NoError(at.t, os.WriteFile(path, png, 0o600))
	at.t.Log("screenshot", path)
}

// judged wants axe-core to find nothing on the page, in light and in dark, and the page
// to be small.
func (at *tab) judged(name string) {
	at.t.Helper()
	const most = 100 << 10
	require.Less(at.t, get[int](at, `fetch(location.href).then((r) => r.text()).then((t) => t.length)`), most, "%s is large", name)
	for _, scheme := range []string{"light", "dark"} {
		at.scheme(scheme)
		at.shot(name + "-" + scheme)
		get[int](at, at.axe+";0")
		found := get[string](at, `axe.run(document, {runOnly: ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]}).then((r) =>
			JSON.stringify(r.violations.map((v) => v.id + ": " + v.help + " " + v.nodes.map((n) => n.html.slice(0, 300) + " " + n.failureSummary).join(" | "))))`)
		var violations []string
		require.NoError(at.t, json.Unmarshal([]byte(found), &violations))
		require.Empty(at.t, violations, "%s in %s: %s", name, scheme, strings.Join(violations, "\n"))
	}
	at.scheme("light")
}

// throttled slows the tab down to a profile, with an empty cache unless it is warm.
func (at *tab) throttled(p profile, warm bool) {
	at.t.Helper()
	at.do(chromedp.Func(func(ctx context.Context, target *chromedp.Target) error {
		if !warm {
			if _, err := cdp.Call(ctx, target, network.ClearBrowserCache, cdp.Empty{}); err != nil {
				return err
			}
		}
		_, err := cdp.Call(ctx, target, network.EmulateNetworkConditionsByRule, network.EmulateNetworkConditionsByRuleParams{
			MatchedNetworkConditions: []*network.Conditions{{Latency: p.latency, DownloadThroughput: p.down, UploadThroughput: p.up}},
		})
		return err
	}))
}

// profile is a network: milliseconds, and bytes a second.
type profile struct{ latency, down, up float64 }

// Two networks are called slow 4G, both from memory: what Lighthouse supposes, and what
// Chrome's developer tools put before each request.
var (
	lighthouseSlow4G = profile{latency: 150, down: 1638.4 * 1024 / 8, up: 675 * 1024 / 8}
	devtoolsSlow4G   = profile{latency: 562.5, down: 1440 * 1000 / 8, up: 675 * 1000 / 8}
)
