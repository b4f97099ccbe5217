package server

import (
	"net/http"
	"strings"

	"ropewalk.example/internal/gym"
	"ropewalk.example/web/part"
)

func staffNav(role gym.Role, path string) []part.NavItem {
	items := []part.NavItem{
		{Text: "Today", Href: "/today", Icon: part.IconToday},
		{Text: "Classes", Href: "/classes", Icon: part.IconRoster},
		{Text: "Stages", Href: "/stages", Icon: part.IconStages},
		{Text: "Athletes", Href: "/athletes", Icon: part.IconPeople},
	}
	if may(role, planAndDecide) {
		items = append(items, part.NavItem{Text: "Reports", Href: "/reports", Icon: part.IconReports})
	}
	if may(role, manageGym) {
		items = append(items, part.NavItem{Text: "Gym", Href: "/gym", Icon: part.IconGym})
	}
	for _, own := range []string{"/people", "/privacy", "/log", "/terms", "/holidays", "/links"} { // what the gym's page leads to
		if path == own || strings.HasPrefix(path, own+"/") {
			path = "/gym"
		}
	}
	return marked(path, items)
}

func athleteNav(path string) []part.NavItem {
	if strings.HasPrefix(path, "/me/report") { // which the rates lead to
		path = "/me/rates"
	}
	return marked(path, []part.NavItem{
		{Text: "Today", Href: "/me", Icon: part.IconToday},
		{Text: "My rates", Href: "/me/rates", Icon: part.IconRates},
		{Text: "My stage", Href: "/me/stage", Icon: part.IconStages},
	})
}

// marked marks the item with the longest address that path lies under.
func marked(path string, items []part.NavItem) []part.NavItem {
	best := -1
	for i, item := range items {
		if (path == item.Href || strings.HasPrefix(path, item.Href+"/")) && (best < 0 || len(item.Href) > len(items[best].Href)) {
			best = i
		}
	}
	if best >= 0 {
		items[best].Current = true
	}
	return items
}

// wide is the meta of a page that uses the whole width.
func (s *Server) wide(r *http.Request, title string) part.Meta {
	meta := s.meta(r, title)
	meta.Wide = true
	return meta
}

// paper is the meta of a page that is made to be printed.
func (s *Server) paper(r *http.Request, title string) part.Meta {
	meta := s.wide(r, title)
	meta.Paper = true
	return meta
}

// addressOf returns where the person who asks reaches this server.
func (s *Server) addressOf(r *http.Request) string {
	scheme := "http://"
	if s.Secure {
		scheme = "https://"
	}
	return scheme + r.Host
}
