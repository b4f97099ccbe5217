package bench

import (
	"context"
	"fmt"
	"os/exec"
	"regexp"
	"strconv"
	"strings"
)

var runsLine = regexp.MustCompile(`a million runs: ([0-9.]+) s here, ([0-9.]+) s in R's survfit`)

// science reads the figures of the comparison with R, which also compares the
// curves themselves.
func (b *bench) science(ctx context.Context) error {
	out, err := exec.CommandContext(ctx, ".ci/check-science").CombinedOutput()
	if err != nil {
		return fmt.Errorf(".ci/check-science: %w\n%s", err, out)
	}
	found := runsLine.FindSubmatch(out)
	if found == nil {
		return fmt.Errorf(".ci/check-science gave no times:\n%s", out)
	}
	here, err := strconv.ParseFloat(string(found[1]), 64)
	if err != nil {
		return fmt.Errorf("reading R's times: %w", err)
	}
	there, err := strconv.ParseFloat(string(found[2]), 64)
	if err != nil {
		return fmt.Errorf("reading R's times: %w", err)
	}
	b.rows = append(b.rows, Row{Work: "Kaplan–Meier of 1 M runs", Ours: fmt.Sprintf("%.0f ms", 1000*here), Baseline: fmt.Sprintf("%.0f ms", 1000*there),
		Ratio: here / there, Goal: "≤ 0.2", Met: here/there <= 0.2, Remark: "baseline: R's survival::survfit"})
	return nil
}

var reportLine = regexp.MustCompile(`(?m)^Benchmark(\w+?)(?:-\d+)?\s.*$`)

// reports runs the report's own race against the bare libraries. Its figures are
// processor time, and it refuses what takes too long or too much memory.
func (b *bench) reports(ctx context.Context) error {
	out, err := exec.CommandContext(ctx, "go", "test", "-run", "^$", "-bench", "Reports|Workbook|Sheet", "-benchtime", "1x", "./internal/report").CombinedOutput()
	lines := reportLine.FindAllSubmatch(out, -1)
	if len(lines) == 0 {
		return fmt.Errorf("the reports' benchmarks gave no figures: %w\n%s", err, out)
	}
	for _, line := range lines {
		figures := figuresIn(string(line[0]))
		ratio, memory := figures["own/bare"], figures["peak-MB"]
		if ratio == 0 {
			continue
		}
		b.rows = append(b.rows, Row{Work: inWords(string(line[1])), Ours: fmt.Sprintf("%.2f s", figures["own-cpu-s"]), Baseline: fmt.Sprintf("%.2f s", figures["bare-cpu-s"]),
			Ratio: ratio, Goal: "≤ 1.2, ≤ 150 MB", Met: ratio <= 1.2 && memory <= 150, Remark: fmt.Sprintf("baseline: the bare library; processor time, %.0f MB at most", memory)})
	}
	return nil
}

// figuresIn reads the figures of a line of go test -bench, by their unit.
func figuresIn(line string) map[string]float64 {
	fields := strings.Fields(line)
	figures := map[string]float64{}
	for i := 1; i < len(fields); i++ {
		if n, err := strconv.ParseFloat(fields[i-1], 64); err == nil {
			figures[fields[i]] = n
		}
	}
	return figures
}

// inWords takes a benchmark's name apart: ThousandReportsPDF.
func inWords(name string) string {
	words := strings.Fields(regexp.MustCompile(`([a-z])([A-Z])`).ReplaceAllString(name, "$1 $2"))
	for i, word := range words {
		if word != strings.ToUpper(word) {
			words[i] = strings.ToLower(word)
		}
	}
	return strings.Join(words, " ")
}
