package server

import (
	"fmt"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/google/uuid"

	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/receiving"
	"ropewalk.example/internal/store"
)

// crowd is as many phones as a large class has.
const crowd = 30

// results30 are an athlete's tests of the day, corrected or not, by id.
func (h *hall) results30(n int) map[uuid.UUID]gym.Result {
	h.t.Helper()
	var all []gym.Result
	h.read(h.id, store.ResultHistory(h.athletes[n].AthleteID, time.Time{}, &all))
	found := map[uuid.UUID]gym.Result{}
	for _, r := range all {
		if r.Seconds != nil && *r.Seconds == 30 {
			found[r.ResultID] = r
		}
	}
	return found
}

// Thirty phones send their counts and call the coach at once, each twice, as
// phones do whose answer is lost; meanwhile two coaches type the same rows. Every
// count is kept once, a coach's number goes in only beside what was seen, and
// whoever is told "saved" is.
func TestThirtyPhonesWhileCoachesType(t *testing.T) {
	h, session := running(t, crowd)
	phones := make([]*browser, crowd)
	entries := make([]sentEntry, crowd)
	for i := range phones {
		phones[i] = h.as(h.jumper(i))
		entries[i] = h.entry(receiving.Result, map[string]any{"protocol": "base", "seconds": 30, "rotations": 50 + i, "step": "bounce", "rope": "beaded",
			"surface": "wood", "counted_by": "partner", "timing": "app"})
	}
	const both = 10 // athletes whom phones and coaches count
	cleo, asa := h.typist(h.coach), h.typist(h.assistant)
	typed := map[*typist][]uuid.UUID{cleo: make([]uuid.UUID, both), asa: make([]uuid.UUID, both)}
	told := map[*typist][]int{cleo: make([]int, both), asa: make([]int, both)}

	begin := make(chan struct{})
	var all sync.WaitGroup
	for i, phone := range phones {
		all.Go(func() {
			<-begin
			for range 2 {
				if a := phone.sends(h.athletes[i].AthleteID, h.now, entries[i]); a.Code != 200 {
					t.Errorf("phone %d: status %d: %s", i, a.Code, a.words())
				}
			}
			if a := phone.post("/me/class/hand", form("up", "yes")); a.Code != 303 {
				t.Errorf("phone %d calls: status %d: %s", i, a.Code, a.words())
			}
		})
	}
	for coach, numbers := range map[*typist]string{cleo: "7%d", asa: "8%d"} {
		all.Go(func() {
			<-begin
			for n := range both {
				typed[coach][n] = newID()
				told[coach][n] = coach.row(n, fmt.Sprintf(numbers, n), "", typed[coach][n].String()).Code
			}
		})
	}
	close(begin)
	all.Wait()

	for i := range crowd {
		kept := h.results30(i)
		if r, is := kept[entries[i].ID]; !is || *r.Rotations != 50+i || r.Corrects != uuid.Nil {
			t.Errorf("athlete %d: the phone's count is kept as %+v", i, r)
		}
		want := 1
		for coach := range typed {
			if i >= both {
				continue
			}
			_, is := kept[typed[coach][i]]
			if saved := told[coach][i] == 200; saved != is || !saved && told[coach][i] != 409 {
				t.Errorf("athlete %d: a coach was told %d, and the number is there: %v", i, told[coach][i], is)
			}
			if is {
				want++
			}
		}
		if len(kept) != want {
			t.Errorf("athlete %d has %d counts, want %d", i, len(kept), want)
		}
		for id, r := range kept {
			if r.Corrects != uuid.Nil {
				t.Errorf("athlete %d: %v overwrote %v, which nobody who typed had seen", i, id, r.Corrects)
			}
		}
	}
	words := h.as(h.coach).get("/sessions/" + session.String() + "/run").is(200).words()
	if !strings.Contains(words, fmt.Sprintf("Needs you · %d", crowd)) {
		t.Errorf("the board does not have all %d calls: %s", crowd, words)
	}
}

// Two coaches change the same count, both having seen it: one of them does, and
// the other is told.
func TestOneOfTwoChangesStands(t *testing.T) {
	h := newHall(t, "Ana", "Ben", "Chidi", "Dora", "Eve")
	h.checkIn()
	cleo, asa := h.typist(h.coach), h.typist(h.assistant)
	for n := range h.athletes {
		seen := cleo.row(n, "60", "", "").is(200).mark("stands")
		asa.round = cleo.round
		codes := make([]int, 2)
		var both sync.WaitGroup
		for i, coach := range []*typist{cleo, asa} {
			both.Go(func() { codes[i] = coach.row(n, fmt.Sprint(61+i), seen, "").Code })
		}
		both.Wait()
		won := slices.Index(codes, 200)
		if slices.Sort(codes); !slices.Equal(codes, []int{200, 409}) {
			t.Fatalf("athlete %d: the answers are %v, want one saved and one told", n, codes)
		}
		if got := h.standing(n); len(got) != 1 || *got[0].Rotations != 61+won {
			t.Errorf("athlete %d: there stands %+v, want %d", n, got, 61+won)
		}
	}
}
