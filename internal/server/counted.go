package server

import (
	"fmt"
	"math"
	"net/http"
	"strconv"
	"strings"
	"time"

	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/measuring"
	"ropewalk.example/internal/rate"
	"ropewalk.example/web/page"
)

// setupFrom reads how a test is set up.
func setupFrom(r *http.Request) page.TestSetup {
	setup := page.TestSetup{Test: r.PostFormValue("test"), Step: r.PostFormValue("step"), RopeKind: r.PostFormValue("rope"),
		Surface: r.PostFormValue("surface"), CountedBy: r.PostFormValue("counted_by"), Task: r.PostFormValue("task"),
		Attempts: trimmed(r.PostFormValue("attempts")), Rest: trimmed(r.PostFormValue("rest")), OneFoot: r.PostFormValue("one_foot") == yes}
	if step := page.FixedStep(setup.Protocol()); step != "" {
		setup.Step = step
	}
	return setup
}

// typedFrom reads what was typed of one athlete; key tells the fields of one
// athlete on a sheet from another's.
func typedFrom(r *http.Request, key string) page.Typed {
	field := func(name string) string { return trimmed(r.PostFormValue(name + key)) }
	typed := page.Typed{Rotations: field("rotations"), Catches: field("catches"), Lost: field("lost"), Restart: field("restart"),
		Ended: field("ended"), Bouts: field("bouts"), Flight: field("flight"), From: field("from"), To: field("to"), Slow: field("slow"),
		Successes: field("successes")}
	for i, text := range r.PostForm["more"+key] {
		if text = trimmed(text); text != "" {
			for len(typed.More) < i {
				typed.More = append(typed.More, "")
			}
			typed.More = append(typed.More, text)
		}
	}
	return typed
}

// fillIn gives a result what its setup says and when it was taken: now.
func fillIn(result *gym.Result, setup page.TestSetup, now time.Time, g gym.Gym) {
	protocol, window, _ := strings.Cut(setup.Test, " ")
	result.Protocol = protocol
	if seconds, err := strconv.ParseFloat(window, 64); err == nil {
		result.Seconds = &seconds
	}
	result.Step, result.RopeKind, result.Surface, result.CountedBy = setup.Step, setup.RopeKind, setup.Surface, setup.CountedBy
	result.Timing = string(rate.ByHand)
	result.TakenAt, result.Day = now, g.DayOf(now)
}

// countInto reads what was counted into a result, and returns a message per
// field that cannot be read. What can be read is checked by package measuring.
func countInto(result *gym.Result, setup page.TestSetup, typed page.Typed) map[string]string {
	c := counting{result: result, setup: setup, typed: typed, messages: map[string]string{}}
	protocol := setup.Protocol()
	if page.HasTask(protocol) {
		result.Task = setup.Task
	}
	switch protocol.Measured {
	case rate.Run, rate.Doubles:
		result.Rotations = c.required("rotations", typed.Rotations, "Type how many, like 12.")
		result.StoppedClean = typed.Ended == page.EndedClean
	case rate.InARow:
		result.Rotations = c.required("rotations", typed.Rotations, "Type how many were clean in a row, like 4.")
	case rate.Bouts:
		c.bouts()
	case rate.FlightTime:
		c.flight()
	case rate.Successes:
		result.Successes = c.required("successes", typed.Successes, "Type how many tries were good, like 3.")
		result.Attempts = c.required("attempts", setup.Attempts, "Type how many tries there were, like 5.")
	default:
		c.timed()
	}
	return c.messages
}

// counting reads the typed text of one test.
type counting struct {
	result   *gym.Result
	setup    page.TestSetup
	typed    page.Typed
	messages map[string]string
}

// required returns the whole number in text, or leaves a message.
func (c *counting) required(field, text, message string) *int {
	n, ok := number(text)
	if ok {
		return &n
	}
	if text != "" {
		message += fmt.Sprintf(" You typed “%s”.", cut(text, 12))
	}
	c.messages[field] = message
	return nil
}

// decimal returns the number in text, nil for nothing typed.
func (c *counting) decimal(field, text, message string) *float64 {
	if text == "" {
		return nil
	}
	n, err := strconv.ParseFloat(strings.Replace(text, ",", ".", 1), 64)
	if err != nil || math.IsNaN(n) || math.IsInf(n, 0) {
		c.messages[field] = message
		return nil
	}
	return &n
}

func (c *counting) timed() {
	t, r := c.typed, c.result
	first := c.required("rotations", t.Rotations, fmt.Sprintf("Rotations must be a whole number from 0 to %d, like 87.", measuring.MostRotations))
	if first != nil {
		c.agree(int32(min(max(*first, -1), math.MaxInt32)))
	}
	if t.Catches != "" {
		if n := c.required("catches", t.Catches, "Catches must be a whole number from 0 to 99."); n != nil {
			r.Catches = *n
		}
	}
	r.LostSeconds = c.decimal("lost", t.Lost, "The seconds lost must be a number, like 2.5.")
	r.LongestRestartSeconds = c.decimal("restart", t.Restart, "The longest restart must be seconds, like 2.5.")
}

// agree works out the rotations of all counters, with one foot doubled.
func (c *counting) agree(first int32) {
	counts := []int32{first}
	for _, text := range c.typed.More {
		if text == "" {
			continue
		}
		n, ok := number(text)
		if !ok {
			c.messages["more"] = "Each counter's number must be a whole number, like 87."
			return
		}
		counts = append(counts, int32(min(max(n, -1), math.MaxInt32)))
	}
	c.result.OneFoot = c.setup.OneFoot
	if len(counts) > 1 {
		c.result.Counts = counts
	}
	rotations, _, ok := measuring.Agreed(counts, c.setup.OneFoot)
	if !ok {
		rotations = -1 // below 0, which measuring reports
	}
	c.result.Rotations = &rotations
}

func (c *counting) bouts() {
	for _, text := range strings.FieldsFunc(c.typed.Bouts, func(r rune) bool { return strings.ContainsRune(" ,;/·", r) }) {
		n, ok := number(text)
		if !ok {
			c.messages["bouts"] = "Type the rotations of each bout as whole numbers, like 31 29 28 27."
			return
		}
		c.result.Bouts = append(c.result.Bouts, int32(min(max(n, -1), math.MaxInt32)))
	}
	c.result.RestSeconds = c.decimal("rest", c.setup.Rest, "The rest between bouts must be seconds, like 30.")
}

func (c *counting) flight() {
	c.result.FlightSeconds = c.decimal("flight", c.typed.Flight, "Seconds in the air must be a number, like 0.36.")
	if c.typed.Flight != "" || c.typed.From+c.typed.To == "" {
		return
	}
	from := c.decimal("from", c.typed.From, "The time in the clip must be seconds, like 1.42.")
	to := c.decimal("to", c.typed.To, "The time in the clip must be seconds, like 1.78.")
	switch {
	case c.messages["from"] != "" || c.messages["to"] != "":
	case from == nil:
		c.messages["from"] = "Type when the feet leave the floor, like 1.42."
	case to == nil:
		c.messages["to"] = "Type when the feet are back, like 1.78."
	case *to <= *from:
		c.messages["to"] = "The feet come back after they leave the floor. Check both times."
	default:
		slower, err := strconv.ParseFloat(c.typed.Slow, 64)
		if err != nil || slower < 1 {
			slower = 1
		}
		seconds := math.Round((*to-*from)/slower*1e4) / 1e4
		c.result.FlightSeconds = &seconds
	}
}

func cut(text string, runes int) string {
	for i := range text {
		if runes == 0 {
			return text[:i] + "…"
		}
		runes--
	}
	return text
}
