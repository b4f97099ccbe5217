package faults

import (
	"bytes"
	"context"
	"encoding/json"
	"io"
	"math/rand/v2"
	"net/http"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/google/uuid"
)

// Answers get lost after the commit, some before; each form is sent 1 to 20
// times, from two tabs, in no order.
func TestLostAnswersAndManyTabs(t *testing.T) {
	_, _, h := open(t, 7)
	const results = 60
	type try struct {
		result int
		id     uuid.UUID
		cut    time.Duration // the answer is not waited for longer
	}
	random := rand.New(rand.NewPCG(1, 2)) // the same tries each time
	ids := make([]uuid.UUID, results)
	var tries []try
	for i := range ids {
		ids[i] = newID()
		for range 1 + random.IntN(20) {
			tries = append(tries, try{i, ids[i], time.Duration(random.IntN(30_000)) * time.Microsecond})
		}
	}
	random.Shuffle(len(tries), func(i, j int) { tries[i], tries[j] = tries[j], tries[i] })
	tabs := []string{h.coach, h.signIn(map[string]string{"role": "coach", "name": "Mara", "person": h.person.String()})}

	queue := make(chan try)
	var all sync.WaitGroup
	for tab := range 16 {
		all.Go(func() {
			for one := range queue {
				ctx, cancel := context.WithTimeout(t.Context(), one.cut)
				h.postAs(ctx, tabs[tab%2], one.result, one.id)
				cancel()
			}
		})
	}
	for _, one := range tries {
		queue <- one
	}
	close(queue)
	all.Wait()
	for i, id := range ids { // in the end somebody waits for the answer, twice
		first, again := h.postAs(t.Context(), h.coach, i, id), h.postAs(t.Context(), tabs[1], i, id)
		h.note(id, first.status)
		if first != again {
			t.Errorf("result %d is answered with %v, then with %v", i, first, again)
		}
	}
	h.report(t, "lost answers")
	t.Logf("%d results were sent %d times from two tabs, each cut off within 30 ms", results, len(tries))
	if n := ask[int](h.hall, `SELECT count(*) FROM result`); n != results {
		t.Errorf("%d results are there, want %d", n, results)
	}
}

type reply struct {
	status   int
	location string
}

func (h *hands) postAs(ctx context.Context, cookie string, result int, id uuid.UUID) reply {
	form := resultForm(id, "120")
	path := *h.address.Load() + "/athletes/" + h.athletes[result%len(h.athletes)].String() + "/tests"
	request, err := http.NewRequestWithContext(ctx, http.MethodPost, path, strings.NewReader(form.Encode()))
	if err != nil {
		return reply{}
	}
	request.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	request.Header.Set("Sec-Fetch-Site", "same-origin")
	request.Header.Set("Cookie", cookie)
	answer, err := h.client.Do(request)
	if err != nil {
		return reply{}
	}
	defer answer.Body.Close()
	_, _ = io.Copy(io.Discard, answer.Body)
	return reply{answer.StatusCode, answer.Header.Get("Location")}
}

// A phone was away for three days, its clock is two days off, and its sign-in
// ended meanwhile. Then it sends everything ten times, shuffled, from two tabs.
func TestPhoneComesBackAfterThreeDays(t *testing.T) {
	_, p, h := open(t, 3)
	const entries, clockOff = 40, 48 * time.Hour
	now := time.Now().UTC().Truncate(time.Second)
	var kept []json.RawMessage
	ids := map[uuid.UUID]time.Time{} // when each was really made
	for i := range entries {
		made := now.Add(-72 * time.Hour).Add(time.Duration(i) * time.Minute)
		id := newID()
		ids[id] = made
		kept = append(kept, entry(id, 100+i, made.Add(clockOff)))
	}
	ended := h.signIn(map[string]string{"role": "athlete", "name": "Athlete", "athlete": h.athletes[0].String()})
	ask[int](h.hall, `WITH gone AS (UPDATE sign_in SET ended_at = now() WHERE athlete_id = $1 RETURNING 1) SELECT count(*) FROM gone`, h.athletes[0])
	if status, _ := h.sendBatch(t, p.address, ended, kept, now.Add(clockOff)); status != http.StatusUnauthorized {
		t.Errorf("a sign-in that ended is answered with %d, want 401", status)
	}
	again := h.signIn(map[string]string{"role": "athlete", "name": "Athlete", "athlete": h.athletes[0].String()})

	var all sync.WaitGroup
	words := make(chan string, 1000)
	for tab := range 2 {
		random := rand.New(rand.NewPCG(3, uint64(tab)))
		all.Go(func() {
			for range 5 {
				mine := slices.Clone(kept)
				random.Shuffle(len(mine), func(i, j int) { mine[i], mine[j] = mine[j], mine[i] })
				status, answered := h.sendBatch(t, p.address, again, mine, now.Add(clockOff))
				if status != http.StatusOK || len(answered) != entries {
					t.Errorf("a batch is answered with %d and %d answers", status, len(answered))
				}
				for _, word := range answered {
					words <- word
				}
			}
		})
	}
	all.Wait()
	close(words)
	count := map[string]int{}
	for word := range words {
		count[word]++
	}
	farthest := time.Duration(0)
	for id, made := range ids {
		taken := ask[time.Time](h.hall, `SELECT taken_at FROM result WHERE result_id = $1`, id)
		farthest = max(farthest, taken.Sub(made).Abs())
	}
	found := ask[int](h.hall, `SELECT count(*) FROM result`)
	t.Logf("phone back after 3 days: %d entries kept, sent 10 times by two tabs, answers %v, found %d, times at most %.1f s off", entries, count, found, farthest.Seconds())
	if found != entries || count["accepted"]+count["duplicate"] != 10*entries {
		t.Errorf("found %d, answers %v", found, count)
	}
	if farthest > 2*time.Minute {
		t.Errorf("a time is %v off", farthest)
	}
}

// sendBatch sends entries as a phone does, and returns the word for each.
func (h *hands) sendBatch(t *testing.T, address, cookie string, entries []json.RawMessage, sentAt time.Time) (status int, words []string) {
	body, err := json.Marshal(map[string]any{"athlete": h.athletes[0], "sent_at": sentAt, "entries": entries})
	if err != nil {
		t.Error(err)
		return 0, nil
	}
	request, err := http.NewRequest(http.MethodPost, address+"/me/outbox", bytes.NewReader(body))
	if err != nil {
		t.Error(err)
		return 0, nil
	}
	request.Header.Set("Content-Type", "application/json")
	request.Header.Set("Sec-Fetch-Site", "same-origin")
	request.Header.Set("Cookie", cookie)
	answer, err := h.client.Do(request)
	if err != nil {
		t.Error(err)
		return 0, nil
	}
	defer answer.Body.Close()
	var said struct {
		Answers []struct {
			Answer string `json:"answer"`
		} `json:"answers"`
	}
	if err := json.NewDecoder(answer.Body).Decode(&said); err != nil {
		t.Errorf("status %d: %v", answer.StatusCode, err)
	}
	for _, one := range said.Answers {
		words = append(words, one.Answer)
	}
	return answer.StatusCode, words
}
