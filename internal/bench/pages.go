package bench

import (
	"context"
	"fmt"
	"net/http"
	"path/filepath"
	"time"
)

const (
	clients  = 32
	roundFor = 3 * time.Second
)

// A pageKind is one of the pages whose speed has a goal.
type pageKind struct {
	key, name, path string
}

func pagesOf(h Home) []pageKind {
	return []pageKind{
		{"class", "class page, 30 athletes", "/classes/" + h.Class.String()},
		{"athlete", "athlete page", "/athletes/" + h.Athlete.String()},
		{"roster", fmt.Sprintf("roster of %d", len(h.Athletes)), "/athletes"},
	}
}

// A pair is the program and the bare server on the same data.
type pair struct {
	site    *site
	bare    *process
	serving Serving
	cookie  string
}

func (p *pair) stop() {
	p.bare.stop()
	p.site.stop()
}

// startPair starts both; requests are what the bare server is to answer.
func (b *bench) startPair(ctx context.Context, db Database, requests []Request) (*pair, error) {
	var p pair
	var err error
	if p.site, err = startSite(ctx, b.program, filepath.Join(b.folder, "site"), on(db)...); err != nil {
		return nil, err
	}
	if p.cookie, err = p.site.signIn(db.Home.SignIn); err != nil {
		p.site.stop()
		return nil, err
	}
	for i := range requests {
		requests[i].Cookie = p.cookie
	}
	if p.bare, p.serving, err = startBare(ctx, Bare{Database: db.App, Requests: requests}); err != nil {
		p.site.stop()
		return nil, err
	}
	return &p, nil
}

// pages compares how many pages a second come out.
func (b *bench) pages(ctx context.Context) error {
	db := b.db()
	kinds := pagesOf(db.Home)
	requests := make([]Request, len(kinds))
	for i, kind := range kinds {
		requests[i] = Request{Method: http.MethodGet, Path: kind.path}
	}
	p, err := b.startPair(ctx, db, requests)
	if err != nil {
		return err
	}
	defer p.stop()
	for i, kind := range kinds {
		if err := b.costOfPage(ctx, p.site, kind, requests[i]); err != nil {
			return err
		}
		remark := fmt.Sprintf("%d queries in %d round trips", p.serving.Queries[i], p.serving.Trips[i])
		if err := b.page(ctx, p, kind.name, requests[i], remark); err != nil {
			return err
		}
		if err := b.page(ctx, p, kind.name+", made anew each time", requests[i].anew(), remark); err != nil {
			return err
		}
	}
	return nil
}

// anew asks for the page at an address that nobody has asked for before, so that
// it is none that is kept.
func (r Request) anew() Request {
	r.Path += "?anew=$id"
	return r
}

// page compares one page.
func (b *bench) page(ctx context.Context, p *pair, name string, request Request, remark string) error {
	load := Load{Requests: []Request{request}, Connections: clients, For: roundFor, Want: http.StatusOK}
	ours, theirs, err := b.alternate(ctx, load, p.site.address, p.serving.Address)
	if err != nil {
		return err
	}
	ratio := ratios(ours, theirs)
	b.rows = append(b.rows, Row{
		Work: name, Ours: perSecond(ours), Baseline: perSecond(theirs), Ratio: median(ratio), Spread: spread(ratio),
		Goal: "≥ 0.8", Met: median(ratio) >= 0.8, Remark: remark,
	})
	return nil
}

// costOfPage notes the processor time of one page.
func (b *bench) costOfPage(ctx context.Context, s *site, kind pageKind, request Request) error {
	m, used, err := b.counted(s, func() (Measured, error) {
		return Load{Address: s.address, Requests: []Request{request.anew()}, Connections: 4, Times: 100, Want: http.StatusOK}.put(ctx)
	})
	if err != nil {
		return err
	}
	if b.costs.page == nil {
		b.costs.page = map[string]float64{}
	}
	b.costs.page[kind.key] = used.Seconds() / float64(m.Answers)
	return nil
}

// alternate puts the load on both by turns, after one turn that does not count.
func (b *bench) alternate(ctx context.Context, load Load, ours, theirs string) (a, z []float64, err error) {
	for round := range b.rounds + 1 {
		for _, side := range []struct {
			address string
			into    *[]float64
		}{{ours, &a}, {theirs, &z}} {
			load.Address = side.address
			m, err := load.put(ctx)
			if err != nil {
				return nil, nil, err
			}
			if round > 0 {
				*side.into = append(*side.into, m.PerSecond())
			}
		}
	}
	return a, z, nil
}

func perSecond(figures []float64) string { return fmt.Sprintf("%.0f/s", median(figures)) }
