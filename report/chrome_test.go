package report

import (
	"context"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/cdproto/log"
	"github.com/chromedp/cdproto/network"
	"github.com/chromedp/cdproto/runtime"
	"github.com/chromedp/chromedp"
)

// A visit is a page open in a browser without a network, with everything that went wrong there.
type visit struct {
	t    *testing.T
	ctx  context.Context
	mu   sync.Mutex
	seen []string // requests that leave the page, and errors
}

// browse starts a browser, or skips the test where there is none. With CI=true a browser is a must.
func browse(t *testing.T) context.Context {
	t.Helper()
	if testing.Short() {
		t.Skip("browser tests are left out with -short")
	}
	path := ""
	for _, name := range []string{"chromium", "chromium-browser", "google-chrome", "chrome"} {
		if p, err := exec.LookPath(name); err == nil {
			path = p
			break
		}
	}
	if path == "" {
		if os.Getenv("CI") == "true" {
			t.Fatal("no browser is installed, and with CI=true the page must be tried in one: install chromium")
		}
		t.Skip("SKIPPED: no browser is installed, so the page was not tried in one: install chromium")
	}
	opts := append(chromedp.DefaultExecAllocatorOptions[:],
		chromedp.ExecPath(path), chromedp.Headless, chromedp.NoSandbox, chromedp.DisableGPU, chromedp.NoFirstRun,
		chromedp.UserDataDir(t.TempDir()), chromedp.Flag("disable-background-networking", true),
		chromedp.Flag("disable-component-update", true), chromedp.Flag("disable-sync", true), chromedp.Flag("disable-quic", true))
	alloc, cancelAlloc := chromedp.NewExecAllocator(t.Context(), opts...)
	ctx, cancelTime := context.WithTimeout(alloc, 8*time.Minute)
	ctx, cancel := chromedp.NewContext(ctx)
	t.Cleanup(func() { cancel(); cancelTime(); cancelAlloc() })
	if err := chromedp.Do(ctx, chromedp.Navigate("about:blank")); err != nil {
		t.Fatalf("start the browser %s: %v", path, err)
	}
	return ctx
}

// open writes the page of a rider to a file and opens it offline in a window of the given width.
func open(t *testing.T, browser context.Context, d rider, opt HTMLOptions, width int64) *visit {
	t.Helper()
	r, s := d.run(t)
	return openPage(t, browser, width, func(w io.Writer) error { return HTML(w, r, s, opt) })
}

// openPage writes a page to a file and opens it offline in a window of the given width.
func openPage(t *testing.T, browser context.Context, width int64, write func(io.Writer) error) *visit {
	t.Helper()
	ctx, cancel := chromedp.NewContext(browser)
	path := filepath.Join(t.TempDir(), "page.html")
	f, err := os.Create(path)
	if err != nil {
		t.Fatal(err)
	}
	if err := write(f); err != nil {
		t.Fatal(err)
	}
	if err := f.Close(); err != nil {
		t.Fatal(err)
	}
	v := &visit{t: t, ctx: ctx}
	t.Cleanup(func() { cancel(); v.clean() })
	if err := chromedp.Listen(ctx, v.note); err != nil {
		t.Fatal(err)
	}
	call(v, network.Enable, network.EnableParams{})
	call(v, runtime.Enable, cdp.Empty{})
	call(v, log.Enable, cdp.Empty{})
	call(v, network.EmulateNetworkConditionsByRule, network.EmulateNetworkConditionsByRuleParams{
		MatchedNetworkConditions: []*network.Conditions{{Offline: true, DownloadThroughput: -1, UploadThroughput: -1}},
	})
	v.size(width, 900)
	v.do(chromedp.Navigate("file://"+path), chromedp.WaitReady(css(`[data-chart] svg`)))
	return v
}

// size sets the window; narrow ones are touch screens.
func (v *visit) size(width, height int64) {
	v.t.Helper()
	phone := width < 500
	call(v, emulation.SetDeviceMetricsOverride, emulation.SetDeviceMetricsOverrideParams{Width: width, Height: height, DeviceScaleFactor: 1, Mobile: phone})
	call(v, emulation.SetTouchEmulationEnabled, emulation.SetTouchEmulationEnabledParams{Enabled: phone})
}

func (v *visit) media(media string, features ...*emulation.MediaFeature) {
	v.t.Helper()
	call(v, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{Media: media, Features: features})
}

func call[P, R any](v *visit, cmd cdp.Command[P, R], params P) {
	v.t.Helper()
	if _, err := chromedp.Call(v.ctx, cmd, params); err != nil {
		v.t.Fatal(err)
	}
}

// note keeps requests that leave the page, and errors.
func (v *visit) note(ev any) {
	v.mu.Lock()
	defer v.mu.Unlock()
	switch e := ev.(type) {
	case *network.EventRequestWillBeSent:
		u := e.Request.URL
		if !strings.HasPrefix(u, "file://") && !strings.HasPrefix(u, "data:") && !strings.HasPrefix(u, "blob:") {
			v.seen = append(v.seen, "request to "+u)
		}
	case *runtime.EventExceptionThrown:
		text := e.ExceptionDetails.Text
		if x := e.ExceptionDetails.Exception; x != nil {
			text += " " + x.Description
		}
		v.seen = append(v.seen, "exception: "+text)
	case *runtime.EventConsoleAPICalled:
		if e.Type == runtime.ConsoleAPICalledTypeError || e.Type == runtime.ConsoleAPICalledTypeWarning {
			args := ""
			for _, a := range e.Args {
				args += " " + string(a.Value) + a.Description
			}
			v.seen = append(v.seen, "console "+string(e.Type)+":"+args)
		}
	case *log.EventEntryAdded:
		if e.Entry.Level == log.EntryLevelError || e.Entry.Level == log.EntryLevelWarning {
			v.seen = append(v.seen, "browser log: "+e.Entry.Text)
		}
	}
}

// clean fails the test if the page sent a request or met an error.
func (v *visit) clean() {
	v.mu.Lock()
	defer v.mu.Unlock()
	for _, s := range v.seen {
		v.t.Error(s)
	}
}

func (v *visit) do(a ...chromedp.Action[chromedp.Void]) {
	v.t.Helper()
	if err := chromedp.Do(v.ctx, a...); err != nil {
		v.t.Fatal(err)
	}
}

// until waits for a script to give true.
func (v *visit) until(what, script string) {
	v.t.Helper()
	if _, err := chromedp.Run(v.ctx, chromedp.Poll[bool](script, chromedp.WithPollingTimeout(60*time.Second))); err != nil {
		v.t.Fatalf("%s: %v", what, err)
	}
}

// ask evaluates a script.
func ask[T any](v *visit, script string) T {
	v.t.Helper()
	out, err := chromedp.Run(v.ctx, chromedp.Evaluate[T](script))
	if err != nil {
		v.t.Fatalf("%v in %s", err, script)
	}
	return out
}

// picture keeps a screenshot where PICTURES names a folder.
func (v *visit) picture(name string) {
	v.t.Helper()
	dir := os.Getenv("PICTURES")
	if dir == "" {
		return
	}
	b, err := chromedp.Run(v.ctx, chromedp.FullScreenshot(100))
	if err != nil {
		v.t.Fatal(err)
	}
	if err := os.WriteFile(filepath.Join(dir, name+".png"), b, 0o644); err != nil {
		v.t.Fatal(err)
	}
}
