package server

import (
	"net/http"
	"strings"
	"testing"
)

// saves keeps a test of the n-th athlete, and leaves what was said unheard.
func (b *browser) saves(h *hall, n int) {
	b.post(h.below(n, "/tests"), form("id", newID().String(), "test", "base 60", "step", "bounce", "rope", "beaded", "surface", "wood",
		"counted_by", "partner", "rotations", "88", "catches", "0", "do", "save")).is(http.StatusSeeOther)
}

func TestASentenceIsHeardOnce(t *testing.T) {
	h := newHall(t, "Ana")
	b := h.as(h.coach)
	b.saves(h, 0)
	if page := b.get(h.below(0, "")).is(http.StatusOK); !strings.Contains(page.Text, "Saved.") {
		t.Error("nothing is said of what was saved")
	}
	if page := b.get(h.below(0, "")).is(http.StatusOK); strings.Contains(page.Text, "Saved.") {
		t.Error("it is said twice")
	}
}

func TestASentenceIsForOneSignIn(t *testing.T) {
	h := newHall(t, "Ana")
	b := h.as(h.coach)
	b.saves(h, 0)
	other := h.as(h.owner)
	other.cookies[saidCookie] = b.cookies[saidCookie]
	if page := other.get(h.below(0, "")).is(http.StatusOK); strings.Contains(page.Text, "Saved.") {
		t.Error("somebody else hears it")
	}
	for name, forged := range map[string]string{"no text": "%%%", "short": "AAAA", "without a seal": b.cookies[saidCookie][22:], "long": strings.Repeat("A", 4000)} {
		b.cookies[saidCookie] = forged
		if page := b.get(h.below(0, "")).is(http.StatusOK); strings.Contains(page.Text, "Saved.") {
			t.Errorf("%s: a forged sentence is heard", name)
		}
	}
}

func TestALongSentenceIsCut(t *testing.T) {
	for _, sentence := range []string{"Saved.", strings.Repeat("é", longestSaid), strings.Repeat("a", longestSaid), strings.Repeat("a", longestSaid+1)} {
		said := short(sentence)
		if len(said) > longestSaid+len("…") || !strings.HasPrefix(sentence, strings.TrimSuffix(said, "…")) || !strings.HasPrefix(said, sentence[:6]) {
			t.Errorf("%.20s of %d bytes is cut to %d", sentence, len(sentence), len(said))
		}
		if len(sentence) <= longestSaid && said != sentence {
			t.Errorf("%.20s needs no cut", sentence)
		}
	}
}
