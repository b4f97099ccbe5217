package reporting_test

import (
	"strings"
	"testing"

	"github.com/google/uuid"

	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/problem"
	"ropewalk.example/internal/store"
)

func TestATokenOpensItsGymUntilItEnds(t *testing.T) {
	h := fill(t)
	id := uuid.New()
	enters := func(token string) bool {
		t.Helper()
		gymID, ok, err := h.Enter(t.Context(), token)
		if err != nil || ok != (gymID == h.gym) {
			t.Fatal(gymID, ok, err)
		}
		return ok
	}
	token, err := h.MakeToken(t.Context(), h.owner, id, " the club's own page ")
	if err != nil || !enters(token) {
		t.Fatalf("the token does not open its gym (%v)", err)
	}
	other := strings.Replace(token, strings.ReplaceAll(h.gym.String(), "-", ""), strings.Repeat("0", 32), 1)
	for _, wrong := range []string{"", "rw_", "rw__", token[:len(token)-1], token + "x", strings.TrimPrefix(token, "rw_"), other, "rw_zz_secret"} {
		if enters(wrong) {
			t.Errorf("%q opens the gym", wrong)
		}
	}
	if _, err := h.MakeToken(t.Context(), h.owner, id, "once more"); problem.KindOf(err) != problem.Conflict {
		t.Errorf("the same form twice: %v", err)
	}
	for _, name := range []string{" ", strings.Repeat("a", 81)} {
		if _, err := h.MakeToken(t.Context(), h.owner, uuid.New(), name); problem.KindOf(err) != problem.Invalid {
			t.Errorf("named %q: %v", name, err)
		}
	}
	var tokens []gym.Token
	h.read(h.gym, store.Tokens(&tokens))
	if len(tokens) != 1 || tokens[0].Name != "the club's own page" || tokens[0].LastUsedOn == nil {
		t.Errorf("kept is %+v", tokens)
	}
	if err := h.EndToken(t.Context(), h.owner, id); err != nil || enters(token) {
		t.Errorf("the ended token opens the gym (%v)", err)
	}
}
