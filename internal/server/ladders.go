package server

import (
	"errors"
	"fmt"
	"io"
	"net/http"
	"strconv"
	"strings"

	"github.com/a-h/templ"
	"github.com/go-chi/chi/v5"
	"github.com/google/uuid"

	"ropewalk.example/docs"
	"ropewalk.example/internal/deciding"
	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/ladder"
	"ropewalk.example/internal/problem"
	"ropewalk.example/internal/standing"
	"ropewalk.example/internal/store"
	"ropewalk.example/web/page"
)

// ladders are the pages of the ladder editor.
func (s *Server) ladders(r chi.Router) {
	r.Get("/ladders", s.page(s.getLadders))
	r.Post("/ladders", s.page(s.postCopyLadder))
	r.Post("/ladders/shipped", s.page(s.postShippedLadder))
	r.Get("/ladders/schema", s.page(s.getLadderSchema))
	r.Get("/ladders/import", s.page(s.getImportLadder))
	r.Post("/ladders/import", s.page(s.postImportLadder))
	r.Route("/ladders/{ladder}", func(r chi.Router) {
		r.Get("/", s.page(s.getLadder))
		r.Post("/name", s.page(s.postLadderName))
		r.Post("/stages", s.page(s.postAddStage))
		r.Get("/stages/{stage}", s.page(s.getStageWords))
		r.Post("/stages/{stage}", s.page(s.postStageWords))
		r.Post("/stages/{stage}/move", s.page(s.postMoveStage))
		r.Get("/stages/{stage}/gate", s.page(s.getEditGate))
		r.Post("/stages/{stage}/gate", s.page(s.postEditGate))
		r.Get("/stages/{stage}/gate/{clause}", s.page(s.getClause))
		r.Post("/stages/{stage}/gate/{clause}", s.page(s.postClause))
		r.Post("/stages/{stage}/gate/{clause}/remove", s.page(s.postRemoveClause))
		r.Post("/discard", s.page(s.postDiscard))
		r.Get("/publish", s.page(s.getPublish))
		r.Post("/publish", s.page(s.postPublish))
		r.Get("/use", s.page(s.getUse))
		r.Post("/use", s.page(s.postUse))
		r.Get("/versions/{version}", s.page(s.getLadderVersion))
		r.Get("/versions/{version}/file", s.page(s.getLadderFile))
	})
}

// getLadders lists the gym's ladders.
func (s *Server) getLadders(w http.ResponseWriter, r *http.Request) error {
	v, err := s.laddersView(r)
	if err != nil {
		return err
	}
	return render(w, r, http.StatusOK, page.Ladders(s.meta(r, "Ladders"), v, nil))
}

func (s *Server) laddersView(r *http.Request) (page.LaddersView, error) {
	var all []gym.Ladder
	var drafts []gym.LadderDraft
	v := page.LaddersView{Saved: s.saved(r.Context())}
	if err := s.Store.Read(r.Context(), who(r.Context()).GymID, store.Ladders(&all), store.LadderDrafts(&drafts)); err != nil {
		return v, err
	}
	for _, l := range all {
		line := page.LadderLine{Ladder: l}
		for _, d := range drafts {
			line.Draft = line.Draft || d.LadderID == l.LadderID
		}
		v.Ladders = append(v.Ladders, line)
	}
	return v, nil
}

// postCopyLadder adds a ladder like another.
func (s *Server) postCopyLadder(w http.ResponseWriter, r *http.Request) error {
	v, err := s.laddersView(r)
	if err != nil {
		return err
	}
	v.Copy = page.CopyForm{From: r.PostFormValue("from"), Name: r.PostFormValue("name")}
	id, err := s.Deciding.CopyLadder(r.Context(), who(r.Context()), parsed(v.Copy.From), v.Copy.Name)
	if problem.KindOf(err) == problem.NotFound {
		err = problem.Form(map[string]string{"from": "Choose the ladder to copy."})
	}
	if err != nil {
		return again(w, r, err, func(messages map[string]string) templ.Component {
			return page.Ladders(s.metaAgain(r, "Ladders"), v, messages)
		})
	}
	s.say(r, "Copied. Change it as you like; athletes stay on the ladder in use.")
	return seeOther(w, r, "/ladders/"+id.String())
}

// postShippedLadder gives a gym without a ladder the one that ships.
func (s *Server) postShippedLadder(w http.ResponseWriter, r *http.Request) error {
	if err := s.Deciding.UseShipped(r.Context(), who(r.Context())); err != nil {
		return err
	}
	s.say(r, "The ladder is in use. Choose where each athlete starts.")
	return seeOther(w, r, "/stages")
}

// getLadderSchema offers the schema of ladder files.
func (s *Server) getLadderSchema(w http.ResponseWriter, _ *http.Request) error {
	w.Header().Set("Content-Type", "application/schema+json")
	w.Header().Set("Content-Disposition", `attachment; filename="ladder.schema.json"`)
	_, err := w.Write(docs.LadderSchema)
	return err
}

func (s *Server) getImportLadder(w http.ResponseWriter, r *http.Request) error {
	return render(w, r, http.StatusOK, page.ImportLadder(s.meta(r, "Bring in a ladder file"), page.ImportLadderView{}, nil))
}

// postImportLadder reads a ladder file; what is wrong is shown line by line.
func (s *Server) postImportLadder(w http.ResponseWriter, r *http.Request) error {
	v := page.ImportLadderView{Text: r.PostFormValue("text")}
	data, err := ladderFileFrom(r)
	var done deciding.Imported
	if err == nil {
		done, err = s.Deciding.Import(r.Context(), who(r.Context()), data)
	}
	if file, ok := errors.AsType[*ladder.FileError](err); ok {
		for _, p := range file.Problems {
			v.Problems = append(v.Problems, page.FileProblem{Line: p.Line, Text: p.Text})
		}
		err = problem.Form(map[string]string{"file": file.Error()})
	}
	if err != nil {
		return again(w, r, err, func(messages map[string]string) templ.Component {
			return page.ImportLadder(s.metaAgain(r, "Bring in a ladder file"), v, messages)
		})
	}
	said := "Brought in as a ladder of its own. It is not in use."
	if done.Draft {
		said = "Brought in as changes to this ladder. Look at them, then publish."
	}
	s.say(r, said)
	return seeOther(w, r, "/ladders/"+done.Ladder.String())
}

// ladderFileFrom returns the uploaded file, or what was pasted.
func ladderFileFrom(r *http.Request) ([]byte, error) {
	if file, _, err := r.FormFile("file"); err == nil {
		defer file.Close()
		data, err := io.ReadAll(file)
		if err != nil {
			return nil, problem.Wrap(err, problem.Invalid, "The file could not be read. Try once more.")
		}
		return data, nil
	}
	if text := r.PostFormValue("text"); trimmed(text) != "" {
		return []byte(text), nil
	}
	return nil, problem.Form(map[string]string{"file": "Choose a ladder file, or paste one below."})
}

// ladderKept reads a version of a ladder, the newest for 0.
func (s *Server) ladderKept(r *http.Request, version int) (gym.Ladder, ladder.Ladder, error) {
	id, err := idIn(r, "ladder")
	if err != nil {
		return gym.Ladder{}, ladder.Ladder{}, err
	}
	var kept gym.Ladder
	var stages []gym.Stage
	if err := s.Store.Read(r.Context(), who(r.Context()).GymID, store.Ladder(id, &kept), store.StagesOf(id, version, &stages)); err != nil {
		return kept, ladder.Ladder{}, err
	}
	if len(stages) == 0 {
		return kept, ladder.Ladder{}, problem.New(problem.NotFound, "There is no such version of this ladder.")
	}
	read, err := standing.Ladder(kept, stages)
	read.Version = stages[0].Version
	return kept, read, err
}

func versionIn(r *http.Request) int {
	version, err := strconv.Atoi(chi.URLParam(r, "version"))
	if err != nil || version < 1 {
		return -1 // there is none
	}
	return version
}

// getLadderVersion shows what a version asks and what it changed.
func (s *Server) getLadderVersion(w http.ResponseWriter, r *http.Request) error {
	kept, l, err := s.ladderKept(r, versionIn(r))
	if err != nil {
		return err
	}
	v := page.VersionView{Kept: kept, Ladder: l, First: l.Version == 1}
	if v.Words, err = words(); err != nil {
		return err
	}
	if !v.First {
		_, before, err := s.ladderKept(r, l.Version-1)
		if err != nil {
			return err
		}
		v.Changes = changeWords(ladder.Diff(before, l), v.Words)
	}
	return render(w, r, http.StatusOK, page.LadderVersion(s.meta(r, fmt.Sprintf("Version %d", l.Version)), v))
}

func changeWords(changes []ladder.Change, known ladder.Words) []string {
	var said []string
	for _, c := range changes {
		said = append(said, known.Change(c))
	}
	return said
}

// getLadderFile writes a version as a file, to change in any editor and bring in
// again.
func (s *Server) getLadderFile(w http.ResponseWriter, r *http.Request) error {
	_, l, err := s.ladderKept(r, versionIn(r))
	if err != nil {
		return err
	}
	data, err := l.Encode()
	if err != nil {
		return err
	}
	w.Header().Set("Content-Type", "application/json; charset=utf-8")
	w.Header().Set("Content-Disposition", fmt.Sprintf(`attachment; filename="%s-%d.json"`, l.Key, l.Version))
	_, err = w.Write(data)
	return err
}

// ladderFields turns what is wrong with a changed ladder into messages by field.
// below is where the form's part of the ladder stands; what is wrong elsewhere
// belongs to the whole form. names renames parts whose field has another name.
func ladderFields(err error, below string, names map[string]string) error {
	file, ok := errors.AsType[*ladder.FileError](err)
	if !ok {
		return err
	}
	messages := map[string]string{}
	for _, p := range file.Problems {
		field := ""
		if rest, ok := strings.CutPrefix(p.Path, below+"/"); ok {
			field = rest
			for field != "" && names[field] == "" && strings.Contains(field, "/") {
				field = field[:strings.LastIndex(field, "/")]
			}
			if name := names[field]; name != "" {
				field = name
			}
		}
		if messages[field] == "" {
			messages[field] = p.Text
		}
	}
	return problem.Form(messages)
}

// revisionFrom reads which state of the draft the form was made from.
func revisionFrom(r *http.Request) int {
	n, ok := number(r.PostFormValue("revision"))
	if !ok {
		return -1
	}
	return n
}

// stageKey is the stage in the address.
func stageKey(r *http.Request) string { return chi.URLParam(r, "stage") }

// draftStage reads the draft of a ladder and one stage of it.
func (s *Server) draftStage(r *http.Request) (deciding.Draft, ladder.Stage, error) {
	id, err := idIn(r, "ladder")
	if err != nil {
		return deciding.Draft{}, ladder.Stage{}, err
	}
	draft, err := s.Deciding.Draft(r.Context(), who(r.Context()), id)
	if err != nil {
		return draft, ladder.Stage{}, err
	}
	stage, ok := draft.Ladder.Stage(stageKey(r))
	if !ok {
		return draft, stage, problem.New(problem.NotFound, "The ladder has no such stage. It may have been retired.")
	}
	return draft, stage, nil
}

func ladderPath(id uuid.UUID, below string) string { return "/ladders/" + id.String() + below }
