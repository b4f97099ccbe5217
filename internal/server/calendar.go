package server

import (
	"net/http"
	"slices"
	"strconv"
	"time"

	"github.com/a-h/templ"
	"github.com/go-chi/chi/v5"
	"github.com/google/uuid"

	"ropewalk.example/internal/calendar"
	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/leading"
	"ropewalk.example/internal/problem"
	"ropewalk.example/internal/store"
	"ropewalk.example/web/page"
)

// calendars is a class's calendar, for all staff.
func (s *Server) calendars(r chi.Router) {
	r.Get("/classes/{class}/calendar", s.page(s.getCalendar))
}

// meetings are the changes of a class's calendar.
func (s *Server) meetings(r chi.Router) {
	r.Get("/classes/{class}/calendar/meeting", s.page(s.getMeeting))
	r.Post("/classes/{class}/calendar/meeting", s.page(s.postMeeting))
	r.Get("/classes/{class}/calendar/extra", s.page(s.getExtra))
	r.Get("/classes/{class}/times", s.page(s.getTimes))
	r.Post("/classes/{class}/times", s.page(s.postTimes))
}

// classYear reads a class with the year its meetings follow from.
func (s *Server) classYear(r *http.Request) (class gym.Class, y calendar.Year, today time.Time, err error) {
	id, err := idIn(r, "class")
	if err != nil {
		return class, y, today, err
	}
	var g gym.Gym
	err = s.Store.Read(r.Context(), who(r.Context()).GymID, append(leading.YearReadings(s.Now(), &y), store.TheGym(&g), store.Class(id, &class))...)
	y.Zone = g.Zone()
	return class, y, s.today(g), err
}

// getCalendar shows the class's meetings, term by term.
func (s *Server) getCalendar(w http.ResponseWriter, r *http.Request) error {
	class, year, today, err := s.classYear(r)
	if err != nil {
		return err
	}
	me := who(r.Context())
	v := page.CalendarView{Class: class, Times: page.ClassTimes(class.ClassID, year.Times), MayPlan: may(me.Role, planAndDecide),
		MayTerms: may(me.Role, manageGym), Saved: s.saved(r.Context())}
	if v.Terms, err = calendarTerms(year, class.ClassID, today, s.Now()); err != nil {
		return err
	}
	return render(w, r, http.StatusOK, page.Calendar(s.wide(r, "Calendar of "+class.Name), v))
}

// calendarTerms puts the terms in the order in which they matter: the one under
// way or next, later ones, then those that are over, the newest first.
func calendarTerms(year calendar.Year, class uuid.UUID, today, now time.Time) ([]page.CalendarTerm, error) {
	held, err := year.Class(class)
	if err != nil {
		return nil, err
	}
	off, err := year.Cancelled(class)
	if err != nil {
		return nil, err
	}
	var terms []page.CalendarTerm
	for _, term := range year.Terms {
		t := page.CalendarTerm{Term: term, Over: term.EndsOn.Before(today)}
		for _, row := range termRows(year, term, held, off) {
			if day, _ := rowDays(row); day.Before(today) && (row.Holiday != nil || !row.Meeting.Ends.After(now)) {
				t.Past = append(t.Past, row)
			} else {
				t.Coming = append(t.Coming, row)
			}
		}
		terms = append(terms, t)
	}
	slices.SortStableFunc(terms, func(a, b page.CalendarTerm) int {
		switch {
		case a.Over != b.Over && b.Over:
			return -1
		case a.Over != b.Over:
			return 1
		case a.Over:
			return b.Term.StartsOn.Compare(a.Term.StartsOn)
		default:
			return a.Term.StartsOn.Compare(b.Term.StartsOn)
		}
	})
	markNext(terms)
	return terms, nil
}

// termRows are a term's meetings, cancelled ones and holidays, in order.
func termRows(year calendar.Year, term gym.Term, held, off []calendar.Meeting) []page.CalendarRow {
	var rows []page.CalendarRow
	for _, m := range held {
		if m.Term.TermID == term.TermID {
			rows = append(rows, page.CalendarRow{Meeting: m})
		}
	}
	for _, m := range off {
		if m.Term.TermID == term.TermID {
			rows = append(rows, page.CalendarRow{Meeting: m, Cancelled: true})
		}
	}
	for _, h := range year.Holidays {
		if !h.StartsOn.After(term.EndsOn) && !h.EndsOn.Before(term.StartsOn) {
			rows = append(rows, page.CalendarRow{Holiday: &h})
		}
	}
	slices.SortStableFunc(rows, func(a, b page.CalendarRow) int {
		dayA, atA := rowDays(a)
		dayB, atB := rowDays(b)
		if n := dayA.Compare(dayB); n != 0 {
			return n
		}
		return atA.Compare(atB)
	})
	return rows
}

// rowDays returns the day a row stands for and the moment within it.
func rowDays(row page.CalendarRow) (day, at time.Time) {
	if row.Holiday != nil {
		return row.Holiday.StartsOn, time.Time{}
	}
	return row.Meeting.On(), row.Meeting.Starts
}

// markNext marks the first meeting to come.
func markNext(terms []page.CalendarTerm) {
	for _, t := range terms {
		for i, row := range t.Coming {
			if row.Holiday == nil && !row.Cancelled {
				t.Coming[i].Next = true
				return
			}
		}
	}
}

// getMeeting shows what can be changed about a meeting.
func (s *Server) getMeeting(w http.ResponseWriter, r *http.Request) error {
	class, year, _, err := s.classYear(r)
	if err != nil {
		return err
	}
	if r.URL.Query().Get("day") == "" {
		return seeOther(w, r, "/classes/"+class.ClassID.String()+"/calendar")
	}
	v, err := meetingView(class, year, r.URL.Query().Get("day"), r.URL.Query().Get("starts"))
	if err != nil {
		return err
	}
	v.Form = page.MeetingForm{ID: newID().String(), Day: v.Meeting.Day.Format(time.DateOnly), StartsAt: r.URL.Query().Get("starts"),
		ToDay: v.Meeting.On().Format(time.DateOnly), ToStartsAt: v.Meeting.Starts.Format("15:04"), ToMinutes: strconv.Itoa(v.Meeting.Minutes())}
	return render(w, r, http.StatusOK, page.Meeting(s.meta(r, "A meeting of "+class.Name), v))
}

// meetingView finds a meeting by its own day and time, cancelled or not.
func meetingView(class gym.Class, year calendar.Year, day, starts string) (page.MeetingView, error) {
	v := page.MeetingView{Class: class}
	held, err := year.Class(class.ClassID)
	if err != nil {
		return v, err
	}
	off, err := year.Cancelled(class.ClassID)
	if err != nil {
		return v, err
	}
	on, startsAt := dayIn(day), clockIn(starts)
	is := func(m calendar.Meeting) bool { return m.Day.Equal(on) && m.StartsAt == startsAt }
	switch i, j := slices.IndexFunc(held, is), slices.IndexFunc(off, is); {
	case i >= 0:
		v.Meeting = held[i]
	case j >= 0:
		v.Meeting, v.Cancelled = off[j], true
	default:
		return v, problem.New(problem.NotFound, "This class has no such meeting any more. Look at the calendar again.")
	}
	v.Weekly = !year.Extra(v.Meeting)
	alike, err := year.Alike(gym.MeetingChange{ClassID: class.ClassID, Day: on, StartsAt: startsAt}, func(int) uuid.UUID { return uuid.Nil })
	v.Later = len(alike) - 1
	return v, err
}

// getExtra asks for a meeting beside the weekly ones.
func (s *Server) getExtra(w http.ResponseWriter, r *http.Request) error {
	class, year, today, err := s.classYear(r)
	if err != nil {
		return err
	}
	form := page.MeetingForm{ID: newID().String(), Kind: string(gym.Extra), ToDay: today.AddDate(0, 0, 7).Format(time.DateOnly)}
	for _, t := range year.Times {
		if t.ClassID == class.ClassID {
			form.ToStartsAt, form.ToMinutes = page.ClockOf(t.StartsAt), strconv.Itoa(t.Minutes)
		}
	}
	return render(w, r, http.StatusOK, page.ExtraMeeting(s.meta(r, "Add a meeting"), class, form, nil))
}

func formOfMeeting(r *http.Request) page.MeetingForm {
	return page.MeetingForm{ID: idFrom(r, "id").String(), Kind: r.PostFormValue("kind"), Day: r.PostFormValue("day"), StartsAt: r.PostFormValue("starts"),
		ToDay: r.PostFormValue("to_day"), ToStartsAt: r.PostFormValue("to_starts_at"), ToMinutes: r.PostFormValue("to_minutes"),
		Reason: trimmed(r.PostFormValue("reason")), Rest: r.PostFormValue("rest") == yes}
}

// changeFrom reads the form. An extra meeting's own day is where it is put.
func changeFrom(class uuid.UUID, f page.MeetingForm) leading.Change {
	c := leading.Change{MeetingChange: gym.MeetingChange{ChangeID: parsed(f.ID), ClassID: class, Kind: gym.ChangeKind(f.Kind), Day: dayIn(f.Day),
		StartsAt: clockIn(f.StartsAt), Reason: f.Reason}, Rest: f.Rest}
	if c.Kind != gym.Moved && c.Kind != gym.Extra {
		return c
	}
	day, at := dayIn(f.ToDay), clockIn(f.ToStartsAt)
	minutes, _ := number(f.ToMinutes) // 0 for what is no number, which is refused
	c.ToDay, c.ToStartsAt, c.ToMinutes = &day, &at, &minutes
	if c.Kind == gym.Extra {
		c.Day, c.StartsAt = day, at
	}
	return c
}

// postMeeting shows what a change of a meeting does, or keeps it.
func (s *Server) postMeeting(w http.ResponseWriter, r *http.Request) error {
	class, year, _, err := s.classYear(r)
	if err != nil {
		return err
	}
	f := formOfMeeting(r)
	c := changeFrom(class.ClassID, f)
	if !slices.Contains([]gym.ChangeKind{gym.Moved, gym.Cancelled, gym.Restored, gym.Extra}, c.Kind) {
		return problem.New(problem.Invalid, "Choose what to change about the meeting. Go back to the calendar and try once more.")
	}
	if r.PostFormValue("do") != "save" {
		outlook, err := s.Leading.ForeseeChange(r.Context(), who(r.Context()), c)
		if err != nil {
			return s.meetingAgain(w, r, class, year, f, err)
		}
		return render(w, r, http.StatusOK, page.Consequences(s.meta(r, "What changes"), foreseenMeeting(class, f, outlook)))
	}
	replanned, err := s.Leading.Change(r.Context(), who(r.Context()), c)
	if err != nil {
		return s.meetingAgain(w, r, class, year, f, err)
	}
	s.say(r, page.ChangedSentence(c.Kind, replanned))
	return seeOther(w, r, "/classes/"+class.ClassID.String()+"/calendar")
}

// foreseenMeeting is the page before a change of a meeting is kept.
func foreseenMeeting(class gym.Class, f page.MeetingForm, o leading.Outlook) page.Foreseen {
	at := "/classes/" + class.ClassID.String() + "/calendar"
	v := page.Foreseen{Above: class.Name, Shifts: []page.ShiftView{shiftView(o)}, Action: at + "/meeting", Back: at, Do: "save",
		Button: page.ChangeButton(gym.ChangeKind(f.Kind)), Strong: gym.ChangeKind(f.Kind) == gym.Cancelled,
		Hidden: [][2]string{{"id", f.ID}, {"kind", f.Kind}, {"day", f.Day}, {"starts", f.StartsAt}, {"to_day", f.ToDay}, {"to_starts_at", f.ToStartsAt},
			{"to_minutes", f.ToMinutes}, {"reason", f.Reason}}}
	if f.Rest {
		v.Hidden = append(v.Hidden, [2]string{"rest", yes})
	}
	return v
}

func shiftView(o leading.Outlook) page.ShiftView {
	return page.ShiftView{Class: o.Class, Shift: o.Shift, Replanned: o.Replanned, Left: o.Left}
}

// meetingAgain shows the form of a change again with what needs mending.
func (s *Server) meetingAgain(w http.ResponseWriter, r *http.Request, class gym.Class, year calendar.Year, f page.MeetingForm, wrong error) error {
	if f.Kind == string(gym.Extra) {
		return again(w, r, wrong, func(messages map[string]string) templ.Component {
			return page.ExtraMeeting(s.metaAgain(r, "Add a meeting"), class, f, messages)
		})
	}
	v, err := meetingView(class, year, f.Day, f.StartsAt)
	if err != nil {
		return wrong
	}
	if f.ToDay == "" { // the form of another kind of change
		f.ToDay, f.ToStartsAt, f.ToMinutes = v.Meeting.On().Format(time.DateOnly), v.Meeting.Starts.Format("15:04"), strconv.Itoa(v.Meeting.Minutes())
	}
	v.Form = f
	return again(w, r, wrong, func(messages map[string]string) templ.Component {
		v.Messages = messages
		return page.Meeting(s.metaAgain(r, "A meeting of "+class.Name), v)
	})
}
