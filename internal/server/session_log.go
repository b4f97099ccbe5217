package server

import (
	"net/http"

	"github.com/a-h/templ"
	"github.com/go-chi/chi/v5"

	"ropewalk.example/internal/leading"
	"ropewalk.example/internal/problem"
	"ropewalk.example/web/page"
	"ropewalk.example/web/part"
)

// afterwards are the pages for the end of a class hour, for all staff.
func (s *Server) afterwards(r chi.Router) {
	r.Get("/sessions/{session}/log", s.page(s.getHourLog))
	r.Post("/sessions/{session}/log", s.page(s.postHourLog))
	r.Get("/classes/{class}/floor", s.page(s.getFloor))
	r.Post("/classes/{class}/floor", s.page(s.postFloor))
	r.Get("/classes/{class}/hand-over", s.page(s.getHandOver))
}

// getHourLog asks how the hour went, with everybody as planned.
func (s *Server) getHourLog(w http.ResponseWriter, r *http.Request) error {
	v, err := s.logView(r)
	if err != nil {
		return err
	}
	v.Saved = s.saved(r.Context())
	return render(w, r, http.StatusOK, page.SessionLog(s.wide(r, "How did it go?"), v, nil))
}

func (s *Server) logView(r *http.Request) (page.HourLog, error) {
	id, err := idIn(r, "session")
	if err != nil {
		return page.HourLog{}, err
	}
	scene, err := s.Leading.Scene(r.Context(), who(r.Context()), id)
	if err != nil {
		return page.HourLog{}, err
	}
	told, caught, err := s.Leading.LogRows(r.Context(), who(r.Context()), scene)
	if err != nil {
		return page.HourLog{}, err
	}
	v := page.HourLog{Class: scene.Class, Session: scene.Session, When: part.Day(scene.Session.Day) + ", " + part.Clock(scene.Session.StartsAt.In(scene.Gym.Zone())),
		Note: scene.Session.Note, Empty: page.CatchesUnknown}
	for _, athlete := range scene.Athletes {
		if !scene.Here[athlete.AthleteID] {
			v.Away++
			continue
		}
		v.Here++
		row := page.HourLogRow{Athlete: athlete, How: string(leading.AsPlanned)}
		if plan, planned := scene.Plans[athlete.AthleteID]; planned {
			row.Plan = &plan
		}
		if d, already := told[athlete.AthleteID]; already {
			row.Told = page.ToldWords(d)
		}
		if n, counted := caught[athlete.AthleteID]; counted {
			row.Catches = whole(&n)
		}
		if _, held := scene.Holds[athlete.AthleteID]; held {
			row.How = string(leading.SatOut)
		}
		v.Rows = append(v.Rows, row)
	}
	return v, nil
}

// postHourLog keeps how the hour went, all or nothing.
func (s *Server) postHourLog(w http.ResponseWriter, r *http.Request) error {
	v, err := s.logView(r)
	if err != nil {
		return err
	}
	v.Note, v.Empty = trimmed(r.PostFormValue("note")), r.PostFormValue("empty")
	log := leading.Log{Session: v.Session.SessionID, Note: v.Note}
	messages := map[string]string{}
	for i := range v.Rows {
		row := &v.Rows[i]
		if row.Told != "" || row.Plan == nil {
			continue
		}
		log.Lines = append(log.Lines, lineFrom(r, row, v.Empty, messages))
	}
	added := 0
	if err = problem.Form(messages); err == nil {
		added, err = s.Leading.Log(r.Context(), who(r.Context()), log)
	}
	if err != nil {
		return again(w, r, err, func(messages map[string]string) templ.Component {
			meta := s.wide(r, "How did it go?")
			meta.Error = true
			return page.SessionLog(meta, v, messages)
		})
	}
	said := "Logged for " + part.Count(added, "athlete", "athletes") + "."
	if added == 0 {
		said = "Logged. There was nothing new to keep."
	}
	s.say(r, said)
	return seeOther(w, r, "/sessions/"+v.Session.SessionID.String())
}

// lineFrom reads one row; a number that is none leaves a message.
func lineFrom(r *http.Request, row *page.HourLogRow, empty string, messages map[string]string) leading.Line {
	key := row.Athlete.AthleteID.String()
	line := leading.Line{Athlete: row.Athlete.AthleteID, How: leading.How(r.PostFormValue("how-" + key))}
	if line.How == "" {
		line.How = leading.AsPlanned
	}
	row.How, row.Sets, row.Catches = string(line.How), trimmed(r.PostFormValue("sets-"+key)), trimmed(r.PostFormValue("catches-"+key))
	if row.Sets != "" {
		n, ok := number(row.Sets)
		if !ok {
			messages["sets-"+key] = "Sets must be a whole number from 0 to 99."
		}
		line.Sets = &n
		if line.How == leading.AsPlanned { // fewer sets are no longer as planned
			line.How, row.How = leading.Shortened, string(leading.Shortened)
		}
	}
	switch n, ok := number(row.Catches); {
	case ok:
		line.Catches = &n
	case row.Catches != "":
		messages["catches-"+key] = "Catches must be a whole number from 0 to 999."
	case empty == page.CatchesNone && line.How != leading.SatOut:
		line.Catches = new(int)
	}
	return line
}
