package server

import (
	"context"
	"errors"
	"io"
	"net/http"
	"net/http/httptest"
	"strings"
	"sync"
	"testing"
)

// So many are let in at once; the next comes in when one goes out, and a page
// that stays open takes nobody's turn.
func TestTurns(t *testing.T) {
	in, out := make(chan string), make(chan struct{})
	gate := (&Server{}).inTurn(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		body, err := io.ReadAll(r.Body)
		if r.URL.Path == "/cut" && (string(body) != "half" || err == nil) {
			t.Errorf("a body that was cut off came as %q, %v", body, err)
		}
		in <- r.URL.Path
		<-out
	}))
	var all sync.WaitGroup
	ask := func(path string, body io.Reader) {
		all.Go(func() {
			gate.ServeHTTP(httptest.NewRecorder(), httptest.NewRequest(http.MethodPost, path, body))
		})
	}
	for range mostAtOnce {
		ask("/today", strings.NewReader("a=1"))
	}
	for range mostAtOnce {
		<-in
	}
	left, leave := context.WithCancel(t.Context())
	leave()
	gate.ServeHTTP(httptest.NewRecorder(), httptest.NewRequest(http.MethodPost, "/gone", nil).WithContext(left)) // does not wait
	ask("/sessions/1/live", strings.NewReader(""))
	if path := <-in; path != "/sessions/1/live" {
		t.Errorf("%s was let in though all turns are taken", path)
	}
	out <- struct{}{} // whichever of them it is
	ask("/cut", io.MultiReader(strings.NewReader("half"), cutShort{errors.New("cut off")}))
	for range mostAtOnce - 1 {
		out <- struct{}{}
	}
	if path := <-in; path != "/cut" {
		t.Errorf("%s came in next", path)
	}
	out <- struct{}{}
	close(out)
	all.Wait()
	if isSlow("/today") || !isSlow("/files/1/download") {
		t.Error("slow pages are told apart wrongly")
	}
}
