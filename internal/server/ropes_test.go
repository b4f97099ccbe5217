package server

import (
	"net/http"
	"strings"
	"testing"

	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/store"
)

func TestTheRackOnPages(t *testing.T) {
	h := newHall(t, "Ana")
	_, rope, _ := h.climb("steady-minute")
	coach, helper := h.as(h.coach), h.as(h.assistant)
	helper.post("/ropes", form("label", "C1", "kind", "steel", "length", "2,8")).leadsTo("/ropes")
	helper.post("/ropes", form("label", "", "kind", "steel", "length", "long")).is(422).says("The length must be a number of metres, like 2.6.")
	helper.post("/ropes", form("label", "b1", "kind", "wire")).is(422).says("Choose a kind from the list.")
	rack := helper.get("/ropes").is(200).says("Look at these first", "C1", "Never looked at", "2.8", "every kind")
	var steel gym.Rope
	var all []gym.Rope
	h.read(h.id, store.Ropes(&all))
	for _, r := range all {
		if r.Kind == "steel" {
			steel = r
		}
	}
	path := "/ropes/" + steel.RopeID.String()
	check := rack.form(path + "/check")
	check.Set("sound", "yes")
	helper.post(path+"/check", check).leadsTo("/ropes")
	ana := h.athletes[0].AthleteID.String()
	refused := coach.post(path+"/lend", form("athlete", ana)).is(422).says("Steel is for adults, or for athletes whom a coach has approved.", "Lend it all the same, because")
	helper.post(path+"/lend", form("athlete", ana)).is(422).lacks("Lend it all the same")
	override := refused.form(path + "/lend")
	override.Set("why", "Beside me, one minute.")
	coach.post(path+"/lend", override).leadsTo(path)
	coach.get(path).is(200).says("Lent to Ana by Cleo.", "Cleo took it over: “Beside me, one minute.”", "Sound, Wed 4 Nov")
	helper.post(path+"/return", nil).leadsTo(path)
	helper.get(path).says("It hangs in the rack.", "Back from Ana.")
	helper.post(path+"/check", form("sound", "no", "note", "coating split")).leadsTo(path)
	helper.get(path).says("Not sound, Wed 4 Nov", "coating split")
	coach.post(path+"/lend", form("athlete", ana, "why", "only today")).is(422).says("Rope C1 was found not sound on Wed 4 Nov.")
	coach.post("/ropes/steel", form("athlete", ana, "do", "approve", "reason", "")).is(422).says("Write why, for whoever asks later.")
	coach.post("/ropes/steel", form("athlete", "", "do", "approve", "reason", "why")).is(422).says("Choose who is meant.")
	coach.post("/ropes/steel", form("athlete", ana, "do", "approve", "reason", "Seen for a term.")).leadsTo("/ropes")
	coach.post(h.path("/ropes"), form("kind", "cord")).leadsTo("/ropes")
	coach.get("/ropes").says("may use steel since Wed 4 Nov: “Seen for a term.”")
	coach.post("/ropes/"+rope.String()+"/lend", form("athlete", ana)).is(422).says("This class does not use this kind of rope: beaded.")
	coach.post(path, form("label", "C9", "kind", "steel", "handle", "short")).leadsTo(path)
	coach.post(path+"/retire", nil).leadsTo("/ropes")
	coach.get("/ropes").lacks("C9")
}

// A test on another rope than the stage was begun on is kept, with a word of
// advice.
func TestOneSkillOnOneRopeAtEntry(t *testing.T) {
	h := newHall(t, "Ana")
	h.climb("steady-minute")
	h.counted(0, "base", 100, 60, 8) // on beads
	coach := h.as(h.coach)
	single := coach.get(h.below(0, "/tests/new")).is(200).says("This stage was begun on: beaded. Learn one skill on one rope.").form(h.below(0, "/tests"))
	single.Set("rotations", "101")
	single.Set("rope", "cord")
	coach.post(h.below(0, "/tests"), single).is(http.StatusSeeOther)
	for _, test := range []struct {
		rope string
		said bool
	}{{"beaded", false}, {"cord", true}} {
		h.now = h.now.AddDate(0, 0, 1)
		class := coach.get(h.path("/tests")).is(200).form(h.path("/tests"))
		class.Set("rope", test.rope)
		class.Set(h.of("rotations", 0), "102")
		kept := coach.post(h.path("/tests"), class).is(200).says("Saved")
		if said := strings.Contains(kept.words(), "This stage was begun on: beaded."); said != test.said {
			t.Errorf("on %s the advice is given: %t; the page says %s", test.rope, said, kept.words())
		}
	}
}
