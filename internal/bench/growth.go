package bench

import (
	"context"
	"fmt"
	"math"
	"net/http"
	"path/filepath"
	"time"
)

// A curve is how long one page takes with more and more data in the database.
type curve struct {
	name    string
	percent []int
	seconds []float64 // medians
}

// exponent is the slope of the line through the points, both axes logarithmic:
// 0 does not grow, 1 grows as the data do.
func (c curve) exponent() float64 {
	var sx, sy, sxx, sxy float64
	for i, p := range c.percent {
		x, y := math.Log(float64(p)), math.Log(c.seconds[i])
		sx, sy, sxx, sxy = sx+x, sy+y, sxx+x*x, sxy+x*y
	}
	n := float64(len(c.percent))
	return (n*sxy - sx*sy) / (n*sxx - sx*sx)
}

// growth asks for the same pages of gyms of three sizes by turns, one at a time.
func (b *bench) growth(ctx context.Context) error {
	if len(b.dbs) < 2 {
		return nil // one size does not grow
	}
	sites := make([]*site, len(b.dbs))
	cookies := make([]string, len(b.dbs))
	for i, db := range b.dbs {
		s, err := startSite(ctx, b.program, filepath.Join(b.folder, fmt.Sprintf("site-%d", db.Percent)), on(db)...)
		if err != nil {
			return err
		}
		defer s.stop()
		if cookies[i], err = s.signIn(db.Home.SignIn); err != nil {
			return err
		}
		sites[i] = s
		defer b.sweep(ctx, db, time.Now())
	}
	for _, page := range []struct {
		name    string
		goal    bool // has one; without, the page itself shows more in a larger gym
		request func(i int) Request
	}{
		{"class page", true, func(i int) Request { return Request{Method: http.MethodGet, Path: pagesOf(b.dbs[i].Home)[0].path} }},
		{"athlete page", true, func(i int) Request { return Request{Method: http.MethodGet, Path: pagesOf(b.dbs[i].Home)[1].path} }},
		{"today, with all classes of the day", false, func(int) Request { return Request{Method: http.MethodGet, Path: "/today"} }},
	} {
		took := make([][]float64, len(b.dbs))
		for round := range 2*b.rounds + 1 {
			for i := range b.dbs {
				request := page.request(i).anew()
				request.Cookie = cookies[i]
				m, err := Load{Address: sites[i].address, Requests: []Request{request}, Connections: 1, Times: 40, Want: http.StatusOK}.put(ctx)
				if err != nil {
					return err
				}
				if round > 0 {
					took[i] = append(took[i], m.Median().Seconds())
				}
			}
		}
		b.curve(page.name, page.goal, took)
	}
	return nil
}

// curve adds the row and the curve of one page.
func (b *bench) curve(name string, goal bool, took [][]float64) {
	c := curve{name: name}
	for i, db := range b.dbs {
		c.percent, c.seconds = append(c.percent, db.Percent), append(c.seconds, median(took[i]))
	}
	last := len(b.dbs) - 1
	ratio := ratios(took[last], took[0])
	b.curves = append(b.curves, c)
	row := Row{Work: name + fmt.Sprintf(", %d %% of the data", b.dbs[last].Percent), Ours: milliseconds(took[last]),
		Baseline: milliseconds(took[0]), Ratio: median(ratio), Spread: spread(ratio),
		Remark: fmt.Sprintf("baseline: itself at %d %%; exponent %.2f", b.dbs[0].Percent, c.exponent())}
	if row.Unasserted = !goal; goal {
		row.Goal, row.Met = "≤ 1.2", median(ratio) <= 1.2
	}
	b.rows = append(b.rows, row)
}

// memory is how much the server holds while 32 clients ask for all pages, those
// that are kept and as many that are made anew.
func (b *bench) memory(ctx context.Context) error {
	db := b.db()
	s, err := startSite(ctx, b.program, filepath.Join(b.folder, "site"), on(db)...)
	if err != nil {
		return err
	}
	defer s.stop()
	cookie, err := s.signIn(db.Home.SignIn)
	if err != nil {
		return err
	}
	var requests []Request
	for _, kind := range pagesOf(db.Home) {
		request := Request{Method: http.MethodGet, Path: kind.path, Cookie: cookie}
		requests = append(requests, request, request.anew())
	}
	done := make(chan error, 1)
	go func() {
		_, err := Load{Address: s.address, Requests: requests, Connections: clients, For: 4 * roundFor, Want: http.StatusOK}.put(ctx)
		done <- err
	}()
	most := int64(0)
	tick := time.NewTicker(50 * time.Millisecond)
	defer tick.Stop()
	for {
		select {
		case err := <-done:
			b.rows = append(b.rows, Row{Work: fmt.Sprintf("memory, %d clients", clients), Ours: fmt.Sprintf("%d MB", most>>20), Goal: "≤ 80 MB", Met: most>>20 <= 80})
			return err
		case <-tick.C:
			held, err := s.memory()
			if err != nil {
				return err
			}
			most = max(most, held)
		}
	}
}
