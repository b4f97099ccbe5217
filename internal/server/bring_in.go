package server

import (
	"errors"
	"fmt"
	"io"
	"mime/multipart"
	"net/http"
	"os"
	"time"

	"github.com/a-h/templ"
	"github.com/google/uuid"

	"ropewalk.example/internal/account"
	"ropewalk.example/internal/problem"
	"ropewalk.example/web/page"
)

// maxExport bounds a file of all data of a gym. A gym of a million results is
// well under it.
const maxExport = 1 << 30

// longestUpload is how long such a file may take to arrive.
const longestUpload = 30 * time.Minute

// getBringIn shows how to bring a gym along into an empty install.
func (s *Server) getBringIn(w http.ResponseWriter, r *http.Request) error {
	if err := s.onlyWhenEmpty(r); err != nil {
		return err
	}
	return render(w, r, http.StatusOK, page.BringIn(s.bare(r, "Bring your gym along"), page.BringInForm{}, nil))
}

// postBringIn makes a gym of an export and signs its owner in. The file goes to
// the disk as it comes, and only from whoever has the code.
func (s *Server) postBringIn(w http.ResponseWriter, r *http.Request) error {
	if err := s.onlyWhenEmpty(r); err != nil {
		return err
	}
	var form account.Return
	owner, err := s.bringIn(w, r, &form)
	if err != nil {
		return again(w, r, err, func(messages map[string]string) templ.Component {
			meta := s.bare(r, "Bring your gym along")
			meta.Error = true
			if messages[""] != "" {
				messages = map[string]string{"file": messages[""]}
			}
			return page.BringIn(meta, page.BringInForm{Code: form.Code, SignInName: form.SignInName}, messages)
		})
	}
	person, err := s.Store.Person(r.Context(), owner)
	if err != nil {
		return err
	}
	return s.admit(w, r, person, "/people")
}

// bringIn reads the form part by part: what was typed stands before the file, so
// that nothing is kept of a file whose code is wrong.
func (s *Server) bringIn(w http.ResponseWriter, r *http.Request, form *account.Return) (owner uuid.UUID, err error) {
	parts, err := r.MultipartReader()
	if err != nil {
		return owner, notWhole(err)
	}
	for {
		part, err := parts.NextPart()
		if errors.Is(err, io.EOF) {
			if err := problem.Form(form.Problems()); err != nil {
				return owner, err
			}
			return owner, noFile()
		}
		if err != nil {
			return owner, notWhole(err)
		}
		if part.FormName() != "file" {
			if err := typed(form, part); err != nil {
				return owner, err
			}
			continue
		}
		if err := s.Accounts.MayReturn(r.Context(), s.door(r), *form); err != nil {
			return owner, err
		}
		return s.keepGym(w, r, *form, part)
	}
}

// typed keeps one field of the form.
func typed(form *account.Return, part *multipart.Part) error {
	const longest = 1000
	text, err := io.ReadAll(io.LimitReader(part, longest))
	if err != nil {
		return notWhole(err)
	}
	switch part.FormName() {
	case "code":
		form.Code = string(text)
	case "sign_in":
		form.SignInName = string(text)
	case "password":
		form.Password = string(text)
	}
	return nil
}

// keepGym keeps the file on the disk while it is brought in.
func (s *Server) keepGym(w http.ResponseWriter, r *http.Request, form account.Return, from io.Reader) (owner uuid.UUID, err error) {
	until := time.Now().Add(longestUpload)
	control := http.NewResponseController(w)
	_, _ = control.SetReadDeadline(until), control.SetWriteDeadline(until) // not every connection has deadlines
	file, err := os.CreateTemp("", "ropewalk-gym-*.zip")
	if err != nil {
		return owner, fmt.Errorf("keeping a file: %w", err)
	}
	defer os.Remove(file.Name())
	defer file.Close()
	size, err := io.Copy(file, from)
	if err != nil {
		return owner, notWhole(err)
	}
	if size == 0 {
		return owner, noFile()
	}
	also, err := s.Accounts.Return(r.Context(), form, &owner)
	if err != nil {
		return owner, err
	}
	done, err := s.Reporting.Import(r.Context(), newID(), file, size, also)
	if err == nil {
		s.Log.InfoContext(r.Context(), "a gym was brought in", "gym", done.GymID, "rows", done.Rows)
	}
	return owner, err
}

func noFile() error {
	return problem.Form(map[string]string{"file": "Choose the ZIP file that the data page of your gym made."})
}

// notWhole says why a file did not arrive.
func notWhole(err error) error {
	if _, tooLarge := errors.AsType[*http.MaxBytesError](err); tooLarge {
		return problem.New(problem.TooLarge, "That file is larger than %d GB, more than any gym's. Is it the right one?", maxExport>>30)
	}
	return problem.Wrap(err, problem.Invalid, "The file did not arrive whole. Choose it once more.")
}
