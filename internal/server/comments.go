package server

import (
	"net/http"

	"github.com/google/uuid"

	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/problem"
	"ropewalk.example/internal/reporting"
	"ropewalk.example/internal/review"
	"ropewalk.example/web/page"
)

func (s *Server) getComments(w http.ResponseWriter, r *http.Request) error {
	var class gym.Class
	whom, theClass := inClass(r, &class)
	view, err := s.reportIn(r, whom, theClass)
	if err != nil {
		return err
	}
	v := s.commentsView(r, view)
	v.Class = &class
	return render(w, r, http.StatusOK, page.CommentsPage(s.wide(r, "Comments of "+class.Name), v))
}

func (s *Server) getComment(w http.ResponseWriter, r *http.Request) error {
	view, err := s.reportIn(r, onlyAthlete(r))
	if err != nil {
		return err
	}
	if _, err := view.One(); err != nil {
		return err
	}
	return render(w, r, http.StatusOK, page.CommentsPage(s.wide(r, "Comment"), s.commentsView(r, view)))
}

func (s *Server) commentsView(r *http.Request, view reporting.View) page.CommentsView {
	v := page.CommentsView{Span: view.Ground.Span, MostWords: reporting.MostComment, MostAim: reporting.MostAim, Saved: s.saved(r.Context())}
	for _, a := range view.Athletes {
		v.Lines = append(v.Lines, page.CommentLine{Athlete: a, Comment: view.Comments[a.AthleteID]})
	}
	return v
}

// postComment keeps what a coach typed. While it is typed the answer is the
// state of the comment alone; a pressed button leads back to the page.
func (s *Server) postComment(w http.ResponseWriter, r *http.Request) error {
	term, err := idIn(r, "term")
	if err != nil {
		return err
	}
	athlete, err := idIn(r, "athlete")
	if err != nil {
		return err
	}
	revision, _ := number(r.PostFormValue("revision"))
	words := reporting.Words{Term: term, Athlete: athlete, Revision: revision, Comment: r.PostFormValue("comment"), Aim: r.PostFormValue("aim"),
		Show: r.PostFormValue("show") == "yes"}
	kept, err := s.Reporting.Write(r.Context(), who(r.Context()), words)
	if r.Header.Get("HX-Request") != "" {
		line := page.CommentLine{Athlete: review.Athlete{Athlete: gym.Athlete{AthleteID: athlete}}, Comment: kept}
		status := http.StatusOK
		if err != nil {
			status = statusOf(problem.KindOf(err))
			line.Message = page.Messages{"": firstMessage(err)}
			line.Typed = &gym.Comment{Revision: revision}
		}
		return render(w, r, status, page.CommentSaved(line))
	}
	if err != nil {
		return s.commentAgain(w, r, words, err)
	}
	s.say(r, "Saved.")
	back := "/reports/" + term.String() + "/athletes/" + athlete.String() + "/comment"
	if class := parsed(r.PostFormValue("class")); class != uuid.Nil {
		back = "/reports/" + term.String() + "/classes/" + class.String() + "/comments#c-" + athlete.String()
	}
	return seeOther(w, r, back)
}

// commentAgain shows the comment once more with what was typed.
func (s *Server) commentAgain(w http.ResponseWriter, r *http.Request, words reporting.Words, err error) error {
	view, readErr := s.reportIn(r, onlyAthlete(r))
	if readErr != nil {
		return readErr
	}
	if _, missing := view.One(); missing != nil {
		return missing
	}
	v := s.commentsView(r, view)
	line := &v.Lines[0]
	line.Typed = &gym.Comment{Draft: words.Comment, DraftAim: words.Aim, Revision: line.Comment.Revision}
	line.Message = problem.FieldsOf(err)
	if line.Message == nil {
		line.Message = page.Messages{"": problem.MessageOf(err)}
	}
	meta := s.wide(r, "Comment")
	meta.Error = true
	return render(w, r, statusOf(problem.KindOf(err)), page.CommentsPage(meta, v))
}

// firstMessage is the sentence to show for err where there is room for one.
func firstMessage(err error) string {
	fields := problem.FieldsOf(err)
	for _, field := range []string{"comment", "aim"} {
		if fields[field] != "" {
			return fields[field]
		}
	}
	return problem.MessageOf(err)
}
