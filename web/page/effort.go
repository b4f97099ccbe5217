package page

import (
	"fmt"

	"ropewalk.example/web/part"
)

// effortOptions are our own words for effort, 0–10.
func effortOptions() []part.Option {
	words := []string{"nothing at all", "hardly anything", "easy", "easy, warm", "steady", "some work", "work", "hard", "very hard", "nearly all I have", "all I have"}
	options := []part.Option{{Value: "", Text: "Choose"}}
	for i, word := range words {
		options = append(options, part.Option{Value: fmt.Sprint(i), Text: fmt.Sprintf("%d · %s", i, word)})
	}
	return options
}

func painOptions() []part.Option {
	words := []string{"no pain", "hardly felt", "a little", "clearly felt", "bothers me", "bothers me a lot", "strong", "very strong", "hard to bear", "very hard to bear", "the worst there is"}
	var options []part.Option
	for i, word := range words {
		options = append(options, part.Option{Value: fmt.Sprint(i), Text: fmt.Sprintf("%d · %s", i, word)})
	}
	return options
}

func placeOptions() []part.Option {
	options := []part.Option{{Value: "", Text: "Nowhere"}}
	for _, place := range []string{"foot", "heel", "ankle", "shin", "calf", "knee", "thigh", "hip", "back", "shoulder", "elbow", "wrist", "head", "chest", "other"} {
		options = append(options, part.Option{Value: place, Text: place})
	}
	return options
}

func signOptions() []part.Option {
	return []part.Option{
		{Value: "sharp", Text: "sharp"},
		{Value: "limping", Text: "makes me limp"},
		{Value: "worsening", Text: "gets worse as I go"},
		{Value: "night", Text: "hurts at night"},
		{Value: "bone", Text: "one sore point on a bone"},
		{Value: "unwell", Text: "chest pain, faint, or hard to breathe: get help now"},
	}
}
