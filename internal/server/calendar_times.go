package server

import (
	"net/http"
	"strconv"

	"github.com/a-h/templ"
	"github.com/google/uuid"

	"ropewalk.example/internal/gym"
	"ropewalk.example/web/page"
)

// spareTimes is how many empty weekly times the form offers; with the ones that
// are there, no more than a week has days.
const spareTimes = 2

// getTimes asks when a class meets every week.
func (s *Server) getTimes(w http.ResponseWriter, r *http.Request) error {
	class, year, _, err := s.classYear(r)
	if err != nil {
		return err
	}
	var form page.TimesForm
	minutes := "60"
	for _, t := range year.Times {
		if t.ClassID == class.ClassID {
			minutes = strconv.Itoa(t.Minutes)
			form.Rows = append(form.Rows, page.TimeRow{Weekday: strconv.Itoa(t.Weekday), StartsAt: page.ClockOf(t.StartsAt), Minutes: minutes})
		}
	}
	for range min(spareTimes, 7-len(form.Rows)) {
		form.Rows = append(form.Rows, page.TimeRow{Minutes: minutes})
	}
	return render(w, r, http.StatusOK, page.WeeklyTimes(s.meta(r, "Weekly times"), class, form, nil))
}

// timesFrom reads the form; times without a day are left out, with what stands
// behind them moved up.
func timesFrom(r *http.Request, class uuid.UUID) (form page.TimesForm, times []gym.ClassTime) {
	for n := 1; n <= 7; n++ {
		suffix := "-" + strconv.Itoa(n)
		row := page.TimeRow{Weekday: r.PostFormValue("weekday" + suffix), StartsAt: r.PostFormValue("starts_at" + suffix), Minutes: r.PostFormValue("minutes" + suffix)}
		if row.Weekday == "" {
			continue
		}
		form.Rows = append(form.Rows, row)
		t := gym.ClassTime{ClassID: class, StartsAt: clockIn(row.StartsAt)}
		t.Weekday, _ = number(row.Weekday) // 0 for what is no number, which is refused
		t.Minutes, _ = number(row.Minutes)
		times = append(times, t)
	}
	return form, times
}

// postTimes shows what other weekly times do, or keeps them.
func (s *Server) postTimes(w http.ResponseWriter, r *http.Request) error {
	class, _, _, err := s.classYear(r)
	if err != nil {
		return err
	}
	form, times := timesFrom(r, class.ClassID)
	again := func(err error) error {
		for range min(spareTimes, 7-len(form.Rows)) {
			form.Rows = append(form.Rows, page.TimeRow{Minutes: "60"})
		}
		return again(w, r, err, func(messages map[string]string) templ.Component {
			return page.WeeklyTimes(s.metaAgain(r, "Weekly times"), class, form, messages)
		})
	}
	at := "/classes/" + class.ClassID.String()
	if r.PostFormValue("do") == "save" {
		if err := s.Leading.SetTimes(r.Context(), who(r.Context()), class.ClassID, times); err != nil {
			return again(err)
		}
		s.say(r, "The weekly times are set.")
		return seeOther(w, r, at+"/calendar")
	}
	outlook, err := s.Leading.ForeseeTimes(r.Context(), who(r.Context()), class.ClassID, times)
	if err != nil {
		return again(err)
	}
	v := page.Foreseen{Above: class.Name, Shifts: []page.ShiftView{shiftView(outlook)}, Action: at + "/times", Back: at + "/calendar", Do: "save", Button: "Set the weekly times"}
	for i, row := range form.Rows {
		suffix := "-" + strconv.Itoa(i+1)
		v.Hidden = append(v.Hidden, [2]string{"weekday" + suffix, row.Weekday}, [2]string{"starts_at" + suffix, row.StartsAt}, [2]string{"minutes" + suffix, row.Minutes})
	}
	return render(w, r, http.StatusOK, page.Consequences(s.meta(r, "What changes"), v))
}
