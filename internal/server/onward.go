package server

import (
	"net/http"

	"github.com/google/uuid"

	"ropewalk.example/internal/store"
)

// pageOf is the part of a list that a request asks for: ?before is the last row
// of the page before it. One row more than fits tells whether the list goes on.
func pageOf(r *http.Request, most int) store.Page {
	return store.Page{After: parsed(r.URL.Query().Get("before")), Most: most + 1}
}

// onward cuts rows to a page of the list at path and returns the address of the
// next page, "" on the last.
func onward[T any](r *http.Request, path string, rows []T, most int, id func(T) uuid.UUID) (page []T, next string) {
	if len(rows) <= most {
		return rows, ""
	}
	query := r.URL.Query()
	query.Set("before", id(rows[most-1]).String())
	return rows[:most], path + "?" + query.Encode()
}
