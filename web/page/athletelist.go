package page

import (
	"context"
	"io"

	"github.com/a-h/templ"

	"ropewalk.example/internal/gym"
)

// athleteList is a link to each athlete. A gym's list has a thousand lines, and
// written by hand it takes a tenth of the time.
func athleteList(athletes []gym.Named) templ.Component {
	return templ.ComponentFunc(func(_ context.Context, w io.Writer) error {
		const room = 160 // bytes of a usual line
		list := make([]byte, 0, room*len(athletes))
		list = append(list, `<ul class="lines">`...)
		for _, a := range athletes {
			list = append(list, `<li><a href="/athletes/`...)
			list = appendID(list, a.AthleteID)
			list = append(list, `"><bdi class="name" dir="auto"`...)
			if a.Lang != "" {
				list = append(list, ` lang="`...)
				list = append(list, templ.EscapeString(a.Lang)...)
				list = append(list, '"')
			}
			list = append(list, '>')
			list = append(list, templ.EscapeString(a.Name)...)
			list = append(list, `</bdi></a></li>`...)
		}
		_, err := w.Write(append(list, `</ul>`...))
		return err
	})
}
