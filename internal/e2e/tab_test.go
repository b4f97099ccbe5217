package e2e

import (
	"context"
	"encoding/json"
	"fmt"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/cdproto/input"
	"github.com/chromedp/cdproto/network"
	"github.com/chromedp/chromedp"
)

// patience is how long one step may take on a busy machine.
const patience = 30 * time.Second

// A tab is a page in a browser profile of its own.
type tab struct {
	*testing.T
	ctx     context.Context
	address string

	mu     sync.Mutex
	errors []string // what the browser complained of
}

// newTab opens a tab as wide and high as a screen in CSS pixels.
func newTab(t *testing.T, p *program, width, height int64) *tab {
	t.Helper()
	shared, err := browser()
	if err != nil {
		t.Fatal(err)
	}
	ctx, cancel := chromedp.NewContext(shared, chromedp.WithNewBrowserContext())
	t.Cleanup(cancel)
	b := &tab{T: t, ctx: ctx, address: p.address}
	if err := chromedp.Do(ctx); err != nil { // the tab lives as long as the context of its first step
		t.Fatal(err)
	}
	b.do(chromedp.EmulateViewport(width, height))
	console := chromedp.Console(ctx)
	go func() {
		for message, err := range console {
			if err != nil {
				return
			}
			b.hear(message)
		}
	}()
	t.Cleanup(func() {
		b.mu.Lock()
		defer b.mu.Unlock()
		for _, text := range b.errors {
			t.Errorf("the browser complains: %s", text)
		}
	})
	return b
}

// hear notes what the browser complains of. That a form was answered with 422
// is on purpose.
func (b *tab) hear(m chromedp.ConsoleMessage) {
	if m.Type != chromedp.ConsoleError && m.Type != chromedp.ConsoleWarning && m.Type != chromedp.ConsoleException {
		return
	}
	if m.Source == "network" && strings.Contains(m.Text, "status of 4") {
		return
	}
	b.mu.Lock()
	defer b.mu.Unlock()
	b.errors = append(b.errors, fmt.Sprintf("%s: %s (%s line %d)", m.Type, m.Text, m.URL, m.Line+1))
}

// noScript switches the page's scripts off.
func (b *tab) noScript() {
	b.Helper()
	if _, err := chromedp.Call(b.ctx, emulation.SetScriptExecutionDisabled, emulation.SetScriptExecutionDisabledParams{Value: true}); err != nil {
		b.Fatal(err)
	}
}

// do runs steps and ends the test if one does not succeed in time.
func (b *tab) do(steps ...chromedp.Action[chromedp.Void]) {
	b.Helper()
	ctx, cancel := context.WithTimeout(b.ctx, patience)
	defer cancel()
	if err := chromedp.Do(ctx, steps...); err != nil {
		b.Fatalf("%v; the page says: %s", err, b.words())
	}
}

// value evaluates an expression in the page.
func value[T any](b *tab, expression string) T {
	b.Helper()
	ctx, cancel := context.WithTimeout(b.ctx, patience)
	defer cancel()
	v, err := chromedp.Run(ctx, chromedp.Evaluate[T](expression, chromedp.EvalAwaitPromise))
	if err != nil {
		b.Fatalf("%s: %v", expression, err)
	}
	return v
}

// words returns the text of the page's main part.
func (b *tab) words() string {
	ctx, cancel := context.WithTimeout(b.ctx, patience)
	defer cancel()
	words, err := chromedp.Run(ctx, chromedp.Evaluate[string](`(document.querySelector("main") ?? document.body).innerText`))
	if err != nil {
		return err.Error()
	}
	return strings.Join(strings.Fields(words), " ")
}

// open goes to a path and returns the answer's status.
func (b *tab) open(path string) int {
	b.Helper()
	ctx, cancel := context.WithTimeout(b.ctx, patience)
	defer cancel()
	r, err := chromedp.RunResponse(ctx, chromedp.Navigate(b.address+path))
	if err != nil {
		b.Fatalf("%s: %v", path, err)
	}
	return int(r.Status)
}

// leaves does something that leads to another page, and waits for that.
func (b *tab) leaves(step chromedp.Action[chromedp.Void]) *network.Response {
	b.Helper()
	ctx, cancel := context.WithTimeout(b.ctx, patience)
	defer cancel()
	r, err := chromedp.RunResponse(ctx, step)
	if err != nil {
		b.Fatalf("%v; the page says: %s", err, b.words())
	}
	return r
}

// press presses the button or link in sight that reads so, and waits for the
// next page.
func (b *tab) press(label string) {
	b.Helper()
	found := value[bool](b, fmt.Sprintf(`(() => {
		document.querySelector("[data-pressed]")?.removeAttribute("data-pressed");
		const found = [...document.querySelectorAll("main button, main a")].find(e => e.checkVisibility() && e.innerText.trim().replace(/\s+/g, " ") === %s);
		found?.setAttribute("data-pressed", "");
		return !!found;
	})()`, quote(label)))
	if !found {
		b.Fatalf("nothing reads %q; the page says: %s", label, b.words())
	}
	b.leaves(chromedp.Click(chromedp.CSS("[data-pressed]")))
}

// fill types into a field of the main part, in the place of what is there.
func (b *tab) fill(name, text string) {
	b.Helper()
	b.do(chromedp.WaitVisible(chromedp.CSS(`main [name="` + name + `"]`)))
	value[bool](b, fmt.Sprintf(`(() => { const f = document.querySelector('main [name=%q]'); f.focus(); f.select(); return true })()`, name))
	if _, err := chromedp.Call(b.ctx, input.InsertText, input.InsertTextParams{Text: text}); err != nil {
		b.Fatal(err)
	}
}

// choose chooses an option by its text.
func (b *tab) choose(name, text string) {
	b.Helper()
	found := value[bool](b, fmt.Sprintf(`(() => {
		const list = document.querySelector('main select[name=%q]');
		const option = [...list.options].find(o => o.text.trim() === %s);
		if (option) { list.value = option.value; list.dispatchEvent(new Event("change", {bubbles: true})); }
		return !!option;
	})()`, name, quote(text)))
	if !found {
		b.Fatalf("%s has no option %q", name, text)
	}
}

// says checks that the page's words hold each text, or soon will: what a phone
// keeps is sent after the page is there.
func (b *tab) says(texts ...string) {
	b.Helper()
	words := ""
	for _, text := range texts {
		for tries := 0; ; tries++ {
			if words = b.words(); strings.Contains(words, text) {
				break
			}
			if tries == 50 {
				b.Errorf("the page does not say %q; it says: %s", text, words)
				break
			}
			time.Sleep(100 * time.Millisecond)
		}
	}
}

// at returns the path of the page.
func (b *tab) at() string {
	b.Helper()
	return value[string](b, `location.pathname`)
}

func quote(text string) string {
	quoted, _ := json.Marshal(text) // a string always can be
	return string(quoted)
}

// signIn signs staff in by the form.
func (b *tab) signIn(name, password string) {
	b.Helper()
	b.open("/sign-in")
	b.fill("name", name)
	b.fill("password", password)
	b.press("Sign in")
}

// join signs an athlete in by class code, name and PIN.
func (b *tab) join(code, name, pin string) {
	b.Helper()
	b.open("/join")
	b.fill("code", code)
	b.press("Go on")
	b.choose("athlete", name)
	b.fill("pin", pin)
	b.press("Go in")
}
