package server

import (
	"net/http"
	"slices"

	"github.com/a-h/templ"
	"github.com/google/uuid"

	"ropewalk.example/internal/deciding"
	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/ladder"
	"ropewalk.example/internal/standing"
	"ropewalk.example/internal/store"
	"ropewalk.example/web/page"
	"ropewalk.example/web/part"
)

// getCatches shows a coach an athlete's catch diary.
func (s *Server) getCatches(w http.ResponseWriter, r *http.Request) error {
	id, err := idIn(r, "athlete")
	if err != nil {
		return err
	}
	return s.showDiary(w, r, id)
}

func (s *Server) postCatches(w http.ResponseWriter, r *http.Request) error {
	id, err := idIn(r, "athlete")
	if err != nil {
		return err
	}
	return s.keepCatch(w, r, id)
}

// getMyCatches shows an athlete the own diary.
func (s *Server) getMyCatches(w http.ResponseWriter, r *http.Request) error {
	return s.showDiary(w, r, who(r.Context()).AthleteID)
}

func (s *Server) postMyCatches(w http.ResponseWriter, r *http.Request) error {
	return s.keepCatch(w, r, who(r.Context()).AthleteID)
}

func (s *Server) showDiary(w http.ResponseWriter, r *http.Request, athlete uuid.UUID) error {
	v, err := s.diaryView(r, athlete)
	if err != nil {
		return err
	}
	return render(w, r, http.StatusOK, page.Diary(s.meta(r, "Catch diary"), v, nil))
}

// keepCatch keeps a note, or takes one out.
func (s *Server) keepCatch(w http.ResponseWriter, r *http.Request, athlete uuid.UUID) error {
	v, err := s.diaryView(r, athlete)
	if err != nil {
		return err
	}
	me, said := who(r.Context()), "Noted."
	if back := parsed(r.PostFormValue("back")); back != uuid.Nil {
		if err := s.Deciding.TakeBackCatch(r.Context(), me, athlete, back); err != nil {
			return err
		}
		s.say(r, "Taken out.")
		return seeOther(w, r, v.Action)
	}
	v.Form = page.CatchForm{ID: idFrom(r, "id").String(), Spot: r.PostFormValue("spot"), Timing: r.PostFormValue("timing"),
		Hands: r.PostFormValue("hands"), Height: r.PostFormValue("height")}
	err = s.Deciding.NoteCatch(r.Context(), me, gym.CatchNote{CatchNoteID: parsed(v.Form.ID), AthleteID: athlete, Spot: v.Form.Spot,
		Timing: v.Form.Timing, Hands: v.Form.Hands, Height: v.Form.Height})
	if err != nil {
		return again(w, r, err, func(messages map[string]string) templ.Component {
			return page.Diary(s.metaAgain(r, "Catch diary"), v, messages)
		})
	}
	s.say(r, said)
	return seeOther(w, r, v.Action)
}

func (s *Server) diaryView(r *http.Request, athlete uuid.UUID) (page.DiaryView, error) {
	me := who(r.Context())
	v := page.DiaryView{Own: me.Role == gym.Jumper, Action: "/athletes/" + athlete.String() + "/catches", Back: "/athletes/" + athlete.String() + "/gate",
		Form: page.CatchForm{ID: newID().String()}, Saved: s.saved(r.Context())}
	if v.Own {
		v.Action, v.Back = "/me/stage/catches", "/me/stage"
	}
	var g gym.Gym
	var notes []gym.CatchNote
	err := s.Store.Read(r.Context(), me.GymID, store.TheGym(&g), store.Athlete(athlete, &v.Athlete),
		store.CatchNotes(store.Only(athlete), s.Now().AddDate(0, 0, -deciding.DiaryDays), &notes))
	if err != nil {
		return v, err
	}
	known, err := words()
	if err != nil {
		return v, err
	}
	v.Cue, v.Reason = known.Suggestion(deciding.Suggest(notes, s.today(g)))
	v.Spots = spotCounts(notes)
	for _, n := range notes {
		v.Notes = append(v.Notes, page.CatchLine{ID: n.CatchNoteID.String(), Day: part.Day(n.Day), Text: page.CatchSentence(standing.OfCatch(n), known)})
	}
	return v, nil
}

// spotCounts counts where the rope stopped, most often first.
func spotCounts(notes []gym.CatchNote) []page.CountLine {
	var counts []page.CountLine
	for _, spot := range ladder.Spots() {
		n := 0
		for _, note := range notes {
			if note.Spot == string(spot) {
				n++
			}
		}
		if n > 0 {
			counts = append(counts, page.CountLine{What: page.SpotWord(spot), N: n})
		}
	}
	slices.SortStableFunc(counts, func(a, b page.CountLine) int { return b.N - a.N })
	return counts
}
