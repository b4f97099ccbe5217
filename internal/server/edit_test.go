package server

import (
	"testing"

	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/store"
)

// A name that came in wrongly is put right, a birth year is added, and somebody
// changes class; results stay.
func TestMendAnAthlete(t *testing.T) {
	h := newHall(t, "Anna", "Ben")
	h.counted(0, "base", 110, 60, 7)
	coach := h.as(h.coach)
	path := "/athletes/" + h.athletes[0].AthleteID.String()
	other := coach.get("/classes/new").form("/classes")
	for field, value := range map[string]string{"name": "Late Class", "weekday": "5", "starts_at": "19:00", "minutes": "60"} {
		other.Set(field, value)
	}
	coach.follow(coach.post("/classes", other)).says("The class is made. Now bring in its names.")
	var classes []gym.Class
	h.read(h.id, store.Classes(&classes))
	late := classes[0]
	if late.Name != "Late Class" {
		late = classes[1]
	}

	f := coach.get(path + "/edit").is(200).says("Name and classes").form(path + "/edit")
	if got := f["class"]; len(got) != 1 || got[0] != h.class.String() {
		t.Errorf("ticked are %v, want the class the athlete is in", got)
	}
	for _, test := range []struct{ field, typed, says string }{
		{"name", "", "Type the name."},
		{"name", "Ben", "Somebody of this name and birth year is here already."},
		{"birth_year", "next", "Birth year must be four digits, like 2013. You typed “next”."},
		{"birth_year", "1802", "Birth year must be from"},
	} {
		wrong := coach.get(path + "/edit").form(path + "/edit")
		wrong.Set("birth_year", "")
		wrong.Set(test.field, test.typed)
		if test.typed == "Ben" {
			var all []gym.Athlete
			h.read(h.id, store.Athletes(&all))
			for _, a := range all {
				if a.Name == "Ben" && a.BirthYear > 0 {
					wrong.Set("birth_year", whole(&a.BirthYear))
				}
			}
		}
		coach.post(path+"/edit", wrong).is(422).says(test.says)
	}

	f.Set("name", "Ana  Quay")
	f.Set("sort_name", "Quay Ana")
	f.Set("birth_year", "2012")
	f["class"] = []string{late.ClassID.String(), "01930000-0000-7000-8000-00000000aaaa"}
	coach.follow(coach.post(path+"/edit", f)).is(200).says("Ana Quay", "Changed. Results, plans and stages stay", "110 rotations")
	coach.get(h.path("")).lacks("Ana Quay")
	coach.get("/classes/" + late.ClassID.String()).says("Ana Quay")
	var athlete gym.Athlete
	h.read(h.id, store.Athlete(h.athletes[0].AthleteID, &athlete))
	if athlete.BirthYear != 2012 || athlete.SortName != "Quay Ana" {
		t.Errorf("kept as %+v", athlete)
	}

	f["class"] = []string{h.class.String()}
	coach.post(path+"/edit", f).is(303)
	coach.get(h.path("")).says("Ana Quay")
	coach.get("/classes/" + late.ClassID.String()).lacks("Ana Quay")
}

func TestRenameAClass(t *testing.T) {
	h := newHall(t, "Ana")
	coach := h.as(h.coach)
	f := coach.get(h.path("/edit")).is(200).form(h.path("/edit"))
	f.Set("name", " ")
	coach.post(h.path("/edit"), f).is(422).says("Type a name for the class, like Tuesday Starters.")
	f.Set("name", "Friday Open")
	coach.follow(coach.post(h.path("/edit"), f)).is(200).says("The class has its new name.", "Friday Open")
}
