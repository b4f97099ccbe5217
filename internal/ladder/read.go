package ladder

import "slices"

// What a ladder file may hold.
const (
	maxKey     = 40 // letters
	maxTitle   = 80
	maxText    = 400
	maxStages  = 60
	maxClauses = 8
	maxLines   = 12 // in a list of texts, faults, blocks or checks
)

func (r *reader) ladder(n node) Ladder {
	o := r.object(n, "a ladder", "key", "name", "version", "lang", "stages")
	l := Ladder{Key: o.key("key", true), Name: o.text("name", maxTitle, true), Lang: o.lang("lang")}
	if _, ok := o.need("version"); ok {
		l.Version = o.whole("version", 1, 1_000_000, 0)
	}
	keys := map[string]bool{}
	for i, item := range o.list("stages", maxStages, true) {
		s := r.stage(item)
		s.Number = i + 1
		if s.Key != "" && keys[s.Key] {
			r.problem(item, "Two stages have the key %s. Give one of them another.", quote(s.Key))
		}
		keys[s.Key] = true
		l.Stages = append(l.Stages, s)
	}
	return l
}

// lang reads the tag of a language, such as "en" or "pt-BR".
func (o object) lang(name string) string {
	s := o.text(name, maxKey, true)
	if s == "" {
		return ""
	}
	if !isLang(s) {
		n, _ := o.get(name)
		o.problem(n, "%s must be the short name of a language, like \"en\" or \"pt-BR\".", quote(name))
	}
	return s
}

func isLang(s string) bool {
	part := 0
	for i := range len(s) {
		c := s[i]
		letter := c >= 'a' && c <= 'z' || c >= 'A' && c <= 'Z'
		switch {
		case letter, c >= '0' && c <= '9' && i > 2:
			part++
		case c == '-' && part >= 2:
			part = 0
		default:
			return false
		}
	}
	return part >= 2
}

func (r *reader) stage(n node) Stage {
	o := r.object(n, "a stage", "key", "title", "purpose", "look_for", "faults", "drill",
		"rope_advice", "caution", "checks", "allows", "also_measure", "gate")
	s := Stage{
		Key:        o.key("key", true),
		Title:      o.text("title", maxTitle, true),
		Purpose:    o.text("purpose", maxText, true),
		LookFor:    o.texts("look_for", maxLines, maxText),
		RopeAdvice: o.text("rope_advice", maxText, false),
		Caution:    o.text("caution", maxText, false),
	}
	for _, item := range o.list("faults", maxLines, false) {
		f := r.object(item, "a fault", "fault", "cue")
		s.Faults = append(s.Faults, Fault{f.text("fault", maxText, true), f.text("cue", maxText, true)})
	}
	if drill, ok := o.get("drill"); ok {
		s.Drill = r.drill(drill)
	}
	for _, item := range o.list("checks", maxLines, false) {
		c := r.object(item, "a check", "point", "text")
		s.Checks = append(s.Checks, Check{Point(c.choice("point", keys(Points()), true)), c.text("text", maxText, true)})
	}
	if allows, ok := o.get("allows"); ok {
		a := r.object(allows, "the list of what is allowed", "bursts", "all_out", "single_handed", "doubles", "triples")
		s.Allows = Allows{a.flag("bursts"), a.flag("all_out"), a.flag("single_handed"), a.flag("doubles"), a.flag("triples")}
	}
	for _, item := range o.list("also_measure", maxLines, false) {
		if item.kind != isText || !slices.Contains(keys(Protocols()), item.text) {
			r.problem(item, "This is no way of measuring that is known. Check the spelling.")
		}
		s.AlsoMeasure = append(s.AlsoMeasure, Protocol(item.text))
	}
	if gate, ok := o.need("gate"); ok {
		s.Gate = r.gate(gate)
	}
	return s
}

func (r *reader) drill(n node) Drill {
	o := r.object(n, "a drill", "text", "blocks", "cycles", "sets", "rest_seconds")
	d := Drill{
		Text:        o.text("text", maxText, true),
		Cycles:      o.whole("cycles", 1, 60, 0),
		Sets:        o.whole("sets", 1, 60, 0),
		RestSeconds: o.whole("rest_seconds", 1, 1200, 0),
	}
	for _, item := range o.list("blocks", maxLines, false) {
		d.Blocks = append(d.Blocks, r.block(item))
	}
	return d
}

func (r *reader) block(n node) Block {
	o := r.object(n, "a block", "reps", "seconds", "at", "percent", "step")
	b := Block{
		Reps:    o.whole("reps", 1, 500, 0),
		Seconds: o.whole("seconds", 1, 600, 0),
		At:      Pace(o.choice("at", keys(Paces()), true)),
		Percent: o.whole("percent", 30, 120, 0),
		Step:    o.choice("step", Steps(), false),
	}
	_, reps := o.get("reps")
	_, seconds := o.get("seconds")
	if reps == seconds && o.kind == isObject {
		r.problem(n, "A block needs either \"reps\" or \"seconds\", not both.")
	}
	if percent := b.Percent; b.At == BurstPace && (percent == 0 || percent > burstPercent) {
		r.problem(n, "A block at burst rate must have a \"percent\" of %d or less.", burstPercent)
	}
	return b
}

// keys returns the keys of a list as text.
func keys[K ~string](list []K) []string {
	texts := make([]string, len(list))
	for i, k := range list {
		texts[i] = string(k)
	}
	return texts
}
