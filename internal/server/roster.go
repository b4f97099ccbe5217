package server

import (
	"bytes"
	"errors"
	"fmt"
	"net/http"
	"strconv"
	"strings"

	"github.com/a-h/templ"

	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/problem"
	"ropewalk.example/internal/roster"
	"ropewalk.example/internal/store"
	"ropewalk.example/web/page"
)

// maxUpload bounds a roster upload: the file's own limit and room for the
// form around it.
const maxUpload = 3 << 20

// shownNames is how many new names the preview lists.
const shownNames = 30

func (s *Server) getImport(w http.ResponseWriter, r *http.Request) error {
	form := page.ImportForm{Saved: s.saved(r.Context())}
	id, err := idIn(r, "class")
	if err != nil {
		return err
	}
	if err := s.Store.Read(r.Context(), who(r.Context()).GymID, store.Class(id, &form.Class)); err != nil {
		return err
	}
	return render(w, r, http.StatusOK, page.Import(s.meta(r, "Bring in names"), form, nil))
}

// getRosterExample offers a file to start from.
func (s *Server) getRosterExample(w http.ResponseWriter, r *http.Request) error {
	var file bytes.Buffer
	if err := roster.WriteExample(&file); err != nil {
		return fmt.Errorf("writing the example roster: %w", err)
	}
	w.Header().Set("Content-Type", "text/csv; charset=utf-8")
	w.Header().Set("Content-Disposition", `attachment; filename="roster-example.csv"`)
	_, err := w.Write(file.Bytes())
	return err
}

// postImport reads the file or the pasted names and shows what they would do.
func (s *Server) postImport(w http.ResponseWriter, r *http.Request) error {
	var form page.ImportForm
	id, err := idIn(r, "class")
	if err != nil {
		return err
	}
	me := who(r.Context())
	var g gym.Gym
	var athletes []gym.Athlete
	if err := s.Store.Read(r.Context(), me.GymID, store.TheGym(&g), store.Class(id, &form.Class), store.Athletes(&athletes)); err != nil {
		return err
	}
	preview, err := s.readRoster(r, &form, g)
	if err == nil && r.PostFormValue("do") == "edit" { // what was pasted, to mend it
		return render(w, r, http.StatusOK, page.Import(s.meta(r, "Bring in names"), form, nil))
	}
	if err != nil {
		return again(w, r, err, func(messages map[string]string) templ.Component {
			meta := s.meta(r, "Bring in names")
			meta.Error = true
			if messages[""] != "" {
				messages = map[string]string{"file": messages[""]}
			}
			return page.Import(meta, form, messages)
		})
	}
	v, err := previewOf(form.Class, preview, known(athletes), s.today(g).Year())
	if err != nil {
		return err
	}
	v.Pasted = form.Names
	return render(w, r, http.StatusOK, page.Preview(s.meta(r, "Names to bring in"), v))
}

// readRoster parses the upload; pasted names stand in form for another look.
func (s *Server) readRoster(r *http.Request, form *page.ImportForm, g gym.Gym) (roster.Preview, error) {
	limits := roster.UsualLimits(s.today(g).Year())
	if err := r.ParseMultipartForm(maxUpload); err != nil {
		if _, tooLarge := errors.AsType[*http.MaxBytesError](err); tooLarge {
			return roster.Preview{}, problem.New(problem.TooLarge, "That file is larger than %d MB. A roster of 5,000 names is well under it: is it the right file?", limits.Bytes>>20)
		}
		return roster.Preview{}, problem.Wrap(err, problem.Invalid, "The file did not arrive whole. Choose it once more.")
	}
	defer r.MultipartForm.RemoveAll()
	form.Names = r.PostFormValue("names")
	file, _, err := r.FormFile("file")
	switch {
	case err == nil:
		defer file.Close()
		return roster.ParseCSV(file, limits)
	case errors.Is(err, http.ErrMissingFile) && trimmed(form.Names) != "":
		preview, err := roster.ParseCSV(strings.NewReader(form.Names), limits)
		if err != nil {
			return roster.Preview{}, problem.Form(map[string]string{"names": problem.MessageOf(err)})
		}
		return preview, nil
	case errors.Is(err, http.ErrMissingFile):
		return roster.Preview{}, problem.Form(map[string]string{"names": "Paste at least one name, or choose a file."})
	default:
		return roster.Preview{}, problem.Wrap(err, problem.Invalid, "The file did not arrive whole. Choose it once more.")
	}
}

func known(athletes []gym.Athlete) []roster.Known {
	list := make([]roster.Known, len(athletes))
	for i, athlete := range athletes {
		list[i] = roster.Known{ID: athlete.AthleteID, Name: athlete.Name, BirthYear: athlete.BirthYear}
	}
	return list
}

// previewOf compares a roster with who is here. The next step reads the good
// lines again from a text of their own, so lines to ask about are numbered by it.
func previewOf(class gym.Class, preview roster.Preview, here []roster.Known, year int) (page.ImportPreview, error) {
	v := page.ImportPreview{Class: class, Problems: faulty(preview.Problems), Repeats: faulty(preview.Repeats), Ignored: preview.Ignored}
	var text bytes.Buffer
	if err := roster.WriteCSV(&text, preview.Rows); err != nil {
		return v, fmt.Errorf("writing the good lines: %w", err)
	}
	v.Text = text.String()
	if len(preview.Rows) == 0 {
		return v, nil
	}
	good, err := roster.ParseCSV(bytes.NewReader(text.Bytes()), roster.Limits{Bytes: maxUpload, Lines: len(preview.Rows), Year: year})
	if err != nil {
		return v, fmt.Errorf("reading the good lines again: %w", err)
	}
	for _, m := range good.Match(here) {
		line := page.ImportLine{Line: m.Row.Line, Sentence: m.Sentence, Name: m.Row.Name, Lang: m.Row.Lang, BirthYear: m.Row.BirthYear, PIN: m.Row.PIN != ""}
		switch m.Verdict {
		case roster.Same:
			v.Same++
		case roster.Ask:
			v.Asks = append(v.Asks, line)
		default:
			v.New++
			if len(v.First) < shownNames {
				v.First = append(v.First, line)
			}
			if m.Sentence != "" {
				v.Remarks = append(v.Remarks, line)
			}
		}
	}
	return v, nil
}

func faulty(problems []roster.LineProblem) []page.ImportLine {
	lines := make([]page.ImportLine, len(problems))
	for i, p := range problems {
		lines[i] = page.ImportLine{Line: p.Line, Text: p.Text, Sentence: p.Sentence}
	}
	return lines
}

// postImportConfirm brings in the names that were looked at.
func (s *Server) postImportConfirm(w http.ResponseWriter, r *http.Request) error {
	id, err := idIn(r, "class")
	if err != nil {
		return err
	}
	me := who(r.Context())
	var g gym.Gym
	var athletes []gym.Athlete
	if err := s.Store.Read(r.Context(), me.GymID, store.TheGym(&g), store.Athletes(&athletes)); err != nil {
		return err
	}
	if err := r.ParseForm(); err != nil {
		return problem.Wrap(err, problem.TooLarge, "That is more than fits. Bring in the file in two parts.")
	}
	preview, err := roster.ParseCSV(strings.NewReader(r.PostFormValue("names")), roster.UsualLimits(s.today(g).Year()))
	if err != nil {
		return err
	}
	others := map[int]bool{}
	for _, typed := range r.PostForm["other"] {
		if line, err := strconv.Atoi(typed); err == nil {
			others[line] = true
		}
	}
	done, err := s.Roster.Import(r.Context(), me, id, preview.Match(known(athletes)), others, s.today(g))
	if err != nil {
		return err
	}
	guarded := 0
	for _, row := range preview.Rows {
		if g.NeedsConsent(gym.Athlete{BirthYear: row.BirthYear}, s.today(g).Year()) {
			guarded++
		}
	}
	s.say(r, importedSentence(done, guarded))
	return seeOther(w, r, "/classes/"+id.String())
}

// importedSentence says what came in, and what is due next. Of guarded athletes
// a parent or guardian must agree first.
func importedSentence(done roster.Imported, guarded int) string {
	if done.Enrolled == 0 {
		return "Nobody was added: all of them are in this class already."
	}
	said := fmt.Sprintf("%d in, %d of them new to the gym.", done.Enrolled, done.Added)
	if done.Known > 0 {
		said += fmt.Sprintf(" %d were in this class already.", done.Known)
	}
	if guarded > 0 {
		said += fmt.Sprintf(" Note the consent of parents or guardians for %d of them.", guarded)
	}
	return said
}
