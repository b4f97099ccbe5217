package demo

import "fmt"

// athletes returns the roster. On purpose it holds one name alone, a very long
// and a very short one, names written from right to left, combining marks and
// a curly apostrophe.
func athletes() []Athlete {
	all := []Athlete{
		{ID: 1, Name: "Amara Oyelaran-Fisk", Lang: "en", BirthYear: 2014, Rope: "B1"},
		{ID: 2, Name: "Þórdís Blæng", Lang: "is", BirthYear: 2013, Rope: "B2"},
		{ID: 3, Name: "李晓澜", SortName: "Li Xiaolan", Lang: "zh-Hans", BirthYear: 2015, Rope: "B3"},
		{ID: 4, Name: "نور الحلواني", SortName: "Nour al-Halwani", Lang: "ar", BirthYear: 2012, Rope: "B4"},
		{ID: 5, Name: "Tomasz Grzelik", Lang: "pl", BirthYear: 2014, Rope: "B5"},
		{ID: 6, Name: "आरव चौधुरी", SortName: "Aarav Chaudhuri", Lang: "hi", BirthYear: 2013, Rope: "B6"},
		{ID: 7, Name: "Ngọc Trầm", Lang: "vi", BirthYear: 2012, Rope: "B7"},
		{ID: 8, Name: "Оксана Вербич", SortName: "Oksana Verbych", Lang: "uk", BirthYear: 2013, Rope: "B8"},
		{ID: 9, Name: "Keahi Manumalo", Lang: "haw", BirthYear: 2015, Rope: "B9"},
		{ID: 10, Name: "Siân Penhallt", Lang: "cy", BirthYear: 2014, Rope: "B10"},
		{ID: 11, Name: "김하린", SortName: "Kim Harin", Lang: "ko", BirthYear: 2012, Rope: "P1"},
		{ID: 12, Name: "Yusuf Karadoğan", Lang: "tr", BirthYear: 2013, Rope: "P2"},
		{ID: 13, Name: "Lindiwe Mthembani", Lang: "zu", BirthYear: 2015, Rope: "P3"},
		{ID: 14, Name: "Bea O’Hara-Ñuñez", Lang: "en", BirthYear: 2014, Rope: "P4"},
		{ID: 15, Name: "Rafael Quintanar", Lang: "es", BirthYear: 2010, Rope: "P5"},
		{ID: 16, Name: "Μελίνα Στρατάκη", SortName: "Melina Strataki", Lang: "el", BirthYear: 2009, Rope: "P6"},
		{ID: 17, Name: "אורי לבנון", SortName: "Uri Levanon", Lang: "he", BirthYear: 1998, Rope: "P1"},
		{ID: 18, Name: "田辺ひより", SortName: "Tanabe Hiyori", Lang: "ja", BirthYear: 1994, Rope: "C2"},
		{ID: 19, Name: "Chidi Nwabuzor", Lang: "ig", BirthYear: 2011, Rope: "P2"},
		{ID: 20, Name: "Freja Østerlund", Lang: "da", BirthYear: 2008, Rope: "P3"},
		{ID: 21, Name: "ተስፋዬ ገብሬ", SortName: "Tesfaye Gebre", Lang: "am", BirthYear: 1987, Rope: "B4"},
		{ID: 22, Name: "Mahina", Lang: "haw", BirthYear: 2001, Rope: "P4"},
		{ID: 23, Name: "สุดา ใจงาม", SortName: "Suda Jaingam", Lang: "th", BirthYear: 1990, Rope: "C1"},
		{ID: 24, Name: "Wilhelmina Featherstonehaugh-Abernathy-Okafor", Lang: "en", BirthYear: 1979, Rope: "B9"},
		{ID: 25, Name: "Jo Ek", Lang: "en", BirthYear: 2010, Rope: "B1"},
		{ID: 26, Name: "ნინო ბერაძე", SortName: "Nino Beradze", Lang: "ka", BirthYear: 2005, Rope: "B6", JoinedWeek: 5},
	}
	for i := range all {
		all[i] = enrol(all[i])
	}
	return all
}

// enrol fills in what follows from the athlete's number: class, PIN and stage.
func enrol(a Athlete) Athlete {
	if a.Class == "" {
		a.Class = starters
		if a.ID > 14 {
			a.Class = open
		}
	}
	a.JoinedWeek = max(a.JoinedWeek, 1)
	a.PIN = fmt.Sprintf("%04d", 1000+a.ID*1237%9000) // 1237 and 9000 share no factor: no PIN twice
	a.StartStage = startStage(a)
	return a
}

// startStage draws where the athlete stands on the ladder that ships. The
// stream is one in which every stage of the weights is taken.
func startStage(a Athlete) int {
	weights := []weight{{5, 0.15}, {6, 0.25}, {7, 0.25}, {8, 0.15}, {10, 0.15}, {12, 0.05}}
	if a.Class == starters {
		weights = []weight{{2, 0.20}, {3, 0.35}, {4, 0.30}, {5, 0.15}}
	}
	return layer(17, a.ID).pick(weights)
}
