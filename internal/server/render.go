package server

import (
	"bytes"
	"compress/gzip"
	"net/http"
	"strconv"
	"sync"

	"github.com/a-h/templ"
)

// render writes a page: made whole first, so that it goes out at once with its
// length, and one that goes wrong half-way is an error page. Pages hold names of
// children: nothing on the way may keep them.
func render(w http.ResponseWriter, r *http.Request, status int, c templ.Component) error {
	page := takeRoom()
	defer giveBack(page)
	if err := write(r.Context(), page, c); err != nil {
		return err
	}
	packed := page.Len() >= worthPacking && takesPacked(r)
	if packed {
		smaller := takeRoom()
		defer giveBack(smaller)
		if err := pack(smaller, page.Bytes()); err != nil {
			return err
		}
		page = smaller
	}
	if kept, ok := r.Context().Value(keepingIn{}).(*keeping); ok && status == http.StatusOK {
		*kept = keeping{bytes.Clone(page.Bytes()), packed}
	}
	send(w, status, page.Bytes(), packed)
	return nil
}

// send sends a page that is made.
func send(w http.ResponseWriter, status int, page []byte, packed bool) {
	h := w.Header()
	h.Set("Content-Type", "text/html; charset=utf-8")
	h.Add("Vary", "Accept-Encoding")
	if packed {
		h.Set("Content-Encoding", "gzip")
	}
	h.Set("Content-Length", strconv.Itoa(len(page)))
	w.WriteHeader(status)
	_, _ = w.Write(page) // the browser may have left
}

// Room for pages that are being made, and packers for them.
var (
	rooms   = sync.Pool{New: func() any { return new(bytes.Buffer) }}
	packers = sync.Pool{New: func() any {
		packer, _ := gzip.NewWriterLevel(nil, gzip.BestSpeed) // the level is one that there is
		return packer
	}}
)

func takeRoom() *bytes.Buffer { return rooms.Get().(*bytes.Buffer) }

// giveBack keeps room for the next page, unless it grew for a rare long one.
func giveBack(room *bytes.Buffer) {
	const usual = 256 << 10
	if room.Cap() <= usual {
		room.Reset()
		rooms.Put(room)
	}
}

// worthPacking is from how many bytes on a page is packed: below, what it takes
// is more than what a slow network gains. Pages hold no secret beside what their
// visitor could send back to them, which packing might give away by its length.
const worthPacking = 16 << 10

func pack(to *bytes.Buffer, page []byte) error {
	packer := packers.Get().(*gzip.Writer)
	defer packers.Put(packer)
	packer.Reset(to)
	if _, err := packer.Write(page); err != nil {
		return err
	}
	return packer.Close()
}
