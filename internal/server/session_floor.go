package server

import (
	"net/http"
	"strconv"
	"strings"

	"github.com/a-h/templ"
	"github.com/google/uuid"

	"ropewalk.example/internal/floor"
	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/leading"
	"ropewalk.example/internal/problem"
	"ropewalk.example/internal/store"
	"ropewalk.example/web/page"
)

// getFloor shows the space of a class and what follows from it.
func (s *Server) getFloor(w http.ResponseWriter, r *http.Request) error {
	v, err := s.floorView(r)
	if err != nil {
		return err
	}
	v.Saved = s.saved(r.Context())
	return render(w, r, http.StatusOK, page.ClassFloor(s.wide(r, "The floor"), v, nil))
}

func (s *Server) floorView(r *http.Request) (page.FloorView, error) {
	id, err := idIn(r, "class")
	if err != nil {
		return page.FloorView{}, err
	}
	var v page.FloorView
	var floors []gym.Floor
	var athletes []gym.Athlete
	var outfits []gym.Outfit
	err = s.Store.Read(r.Context(), who(r.Context()).GymID, store.Class(id, &v.Class), store.FloorOf(id, &floors), store.AthletesOf(id, &athletes),
		store.OutfitsOfClass(id, &outfits))
	if err != nil {
		return v, err
	}
	v.Spacing = metres(floor.DefaultSpacingM)
	if len(floors) > 0 {
		f := floors[0]
		v.Length, v.Width, v.Spacing, v.Surface, v.Note = metres(f.LengthM), metres(f.WidthM), metres(f.SpacingM), f.Surface, f.Note
		v.Fits = floor.Space{LengthM: f.LengthM, WidthM: f.WidthM, SpacingM: f.SpacingM}.Fits()
	}
	v.Athletes = len(athletes)
	ids := make([]string, len(athletes))
	byAthlete := map[uuid.UUID]gym.Outfit{}
	for _, o := range outfits {
		byAthlete[o.AthleteID] = o
	}
	for i, athlete := range athletes {
		ids[i] = athlete.AthleteID.String()
		o := byAthlete[athlete.AthleteID]
		row := page.OutfitRow{Athlete: athlete, Height: whole(o.HeightCM), Shoes: o.Shoes}
		if o.HeightCM != nil {
			row.Rope = strconv.FormatFloat(float64(leading.RopeForCM(*o.HeightCM))/100, 'f', 1, 64) + " m"
		}
		v.Rows = append(v.Rows, row)
	}
	v.Waves = len(floor.CountingWaves(ids, v.Fits))
	return v, nil
}

func metres(m float64) string { return strconv.FormatFloat(m, 'g', -1, 64) }

// postFloor notes the space, and height and shoes.
func (s *Server) postFloor(w http.ResponseWriter, r *http.Request) error {
	v, err := s.floorView(r)
	if err != nil {
		return err
	}
	messages := map[string]string{}
	v.Length, v.Width, v.Spacing = trimmed(r.PostFormValue("length")), trimmed(r.PostFormValue("width")), trimmed(r.PostFormValue("spacing"))
	v.Surface, v.Note = r.PostFormValue("surface"), cut(trimmed(r.PostFormValue("note")), 200)
	read := func(field, text string) float64 {
		m, err := strconv.ParseFloat(strings.Replace(text, ",", ".", 1), 64)
		if err != nil {
			messages[field] = "Type a number of metres, like 18 or 9.5."
		}
		return m
	}
	f := gym.Floor{ClassID: v.Class.ClassID, LengthM: read("length", v.Length), WidthM: read("width", v.Width), SpacingM: read("spacing", v.Spacing),
		Surface: v.Surface, Note: v.Note}
	var outfits []gym.Outfit
	for i := range v.Rows {
		row := &v.Rows[i]
		key := row.Athlete.AthleteID.String()
		row.Height, row.Shoes = trimmed(r.PostFormValue("height-"+key)), r.PostFormValue("shoes-"+key)
		o := gym.Outfit{AthleteID: row.Athlete.AthleteID, Shoes: row.Shoes}
		if n, ok := number(row.Height); ok {
			o.HeightCM = &n
		} else if row.Height != "" {
			messages["height-"+key] = "A height is a whole number from 80 to 230 cm."
		}
		outfits = append(outfits, o)
	}
	err = problem.Form(messages)
	if err == nil {
		err = s.Leading.SetFloor(r.Context(), who(r.Context()), f, outfits)
	}
	if err != nil {
		return again(w, r, err, func(messages map[string]string) templ.Component {
			meta := s.wide(r, "The floor")
			meta.Error = true
			return page.ClassFloor(meta, v, messages)
		})
	}
	s.say(r, "Saved.")
	return seeOther(w, r, "/classes/"+v.Class.ClassID.String()+"/floor")
}
