package setup

import (
	"strconv"
	"strings"
)

// findLines finds the line of each table and key, as far as that can be seen without parsing: it serves messages only.
func findLines(text string) map[string]int {
	lines := map[string]int{}
	table := ""
	list, item := "", 0 // a list of inline tables that is open
	note := func(path string, line int) {
		if lines[path] == 0 {
			lines[path] = line
		}
	}
	counts := map[string]int{}
	for i, line := range strings.Split(text, "\n") {
		line = strings.TrimSpace(line)
		rest := line
		switch {
		case line == "" || line[0] == '#':
			continue
		case strings.HasPrefix(line, "[["):
			name := clean(line[2:], "]")
			counts[name]++
			table = name + "[" + strconv.Itoa(counts[name]) + "]"
			note(name, i+1)
			note(table, i+1)
			list = ""
			continue
		case line[0] == '[' && list == "":
			table = clean(line[1:], "]")
			note(table, i+1)
			continue
		}
		if key, value, ok := strings.Cut(line, "="); ok && list == "" {
			path := join(table, clean(key, "="))
			note(path, i+1)
			rest = value
			if strings.HasPrefix(strings.TrimSpace(value), "[") {
				list, item = path, 0
			}
		}
		if list != "" {
			for range strings.Count(rest, "{") {
				item++
				note(list+"["+strconv.Itoa(item)+"]", i+1)
			}
			if rest, _, _ = strings.Cut(rest, "#"); strings.HasSuffix(strings.TrimSpace(rest), "]") {
				list = ""
			}
		}
	}
	return lines
}

// clean cuts a name off before end, and takes off spaces and quotes.
func clean(name, end string) string {
	name, _, _ = strings.Cut(name, end)
	return strings.Trim(strings.TrimSpace(name), `"'`)
}

// meant suggests the known name that is most like name, as a part of a message; "" where none is.
func meant(name string, known []string) string {
	best, least := "", 1+max(1, len(name)/3)
	for _, k := range known {
		if d := distance(strings.ToLower(name), k); d < least {
			best, least = k, d
		}
	}
	if best == "" {
		return ""
	}
	return "; did you mean " + best + "?"
}

// distance is the edit distance (Levenshtein): how many bytes must be put in, taken out or changed to turn a into b. Names over 64 bytes
// are like nothing.
func distance(a, b string) int {
	if len(a) > 64 {
		return len(a) + len(b)
	}
	row := make([]int, len(b)+1)
	for j := range row {
		row[j] = j
	}
	for i := range len(a) {
		diagonal := row[0]
		row[0] = i + 1
		for j := range len(b) {
			change := diagonal
			if a[i] != b[j] {
				change++
			}
			diagonal = row[j+1]
			row[j+1] = min(change, row[j]+1, row[j+1]+1)
		}
	}
	return row[len(b)]
}
