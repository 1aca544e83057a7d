package phrase

import (
	"go/ast"
	"go/parser"
	"go/token"
	"io/fs"
	"os"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"
)

// said is a message as the source says it.
type said struct{ message, several, where string }

// speaking are the packages whose sentences are said in several languages.
var speaking = []string{"phrase", "sensing", "tally", "cooling", "chart", "plan", "report"}

// enumerated are the types whose constants are words of the record that pages
// show, by package.
var enumerated = map[string][]string{
	"study": {"InstrumentKind", "TapKind", "Feed", "Converter"},
	"tally": {"Verdict", "Judgement"},
}

var inTemplate = regexp.MustCompile("(?:say|rich) (\"(?:[^\"\\\\]|\\\\.)*\"|`[^`]*`)")

// sayings collects every message and word of the source.
func sayings(t *testing.T) []said {
	t.Helper()
	var out []said
	seen := map[string]int{}
	add := func(message, several, where string) {
		if message == "" || message == verbatim {
			return
		}
		if i, ok := seen[message]; ok {
			if several != "" && out[i].several != several {
				t.Errorf("%s: %q has another form for several elsewhere (%s)", where, message, out[i].where)
			}
			return
		}
		seen[message] = len(out)
		out = append(out, said{message, several, where})
	}
	set := token.NewFileSet()
	for _, dir := range append([]string{"study"}, speaking...) {
		err := filepath.WalkDir(filepath.Join("..", dir), func(path string, d fs.DirEntry, err error) error {
			if err != nil {
				return err
			}
			switch {
			case d.IsDir() && d.Name() == "testdata":
				return fs.SkipDir
			case strings.HasSuffix(path, ".html"):
				text, err := os.ReadFile(path)
				if err != nil {
					return err
				}
				for _, m := range inTemplate.FindAllStringSubmatch(string(text), -1) {
					s, err := strconv.Unquote(m[1])
					if err != nil {
						t.Errorf("%s: %s: %v", path, m[1], err)
					}
					add(s, "", path)
				}
			case strings.HasSuffix(path, ".go") && !strings.HasSuffix(path, "_test.go"):
				file, err := parser.ParseFile(set, path, nil, parser.SkipObjectResolution)
				if err != nil {
					return err
				}
				ofFile(t, set, dir, file, add)
			}
			return nil
		})
		if err != nil {
			t.Fatal(err)
		}
	}
	return out
}

// ofFile collects what one file says: messages given to New, Count, Text and
// say, the words of enumerations, and what inputs of a budget are called.
func ofFile(t *testing.T, set *token.FileSet, dir string, file *ast.File, add func(message, several, where string)) {
	lit := func(e ast.Expr) (string, bool) {
		b, ok := e.(*ast.BasicLit)
		if !ok || b.Kind != token.STRING {
			return "", false
		}
		s, err := strconv.Unquote(b.Value)
		return s, err == nil
	}
	ast.Inspect(file, func(n ast.Node) bool {
		where := ""
		if n != nil {
			where = set.Position(n.Pos()).String()
		}
		switch n := n.(type) {
		case *ast.GenDecl:
			if n.Tok == token.CONST {
				constants(dir, n, func(s string) { add(s, "", where) })
			}
		case *ast.BinaryExpr: // ": zero drift" after a place
			if s, ok := lit(n.Y); ok && dir == "sensing" || dir == "tally" && ok {
				if what, ok := strings.CutPrefix(s, ": "); ok && what != "" {
					add(what, "", where)
				}
			}
		case *ast.CallExpr:
			name, of := called(n)
			at := -1
			switch {
			case name == "New" && (of == "phrase" || dir == "phrase" && of == ""), name == "Text" && dir != "study" && of != "doc", name == "say" && of != "":
				at = 0
			case name == "Count" && (of == "phrase" || dir == "phrase"):
				at = 1
			case name == "name" && of == "p" && dir == "sensing":
				at = 0
			}
			if at < 0 || len(n.Args) <= at {
				return true
			}
			s, ok := lit(n.Args[at])
			if !ok {
				if name != "name" && dir != "phrase" && !passes(n.Args[at]) {
					t.Errorf("%s: the message is no literal", where)
				}
				return true
			}
			several := ""
			if at == 1 {
				several, _ = lit(n.Args[2])
			}
			add(s, several, where)
		}
		return true
	})
}

// passes tells that what is given is a message passed on, or a phrase.
func passes(e ast.Expr) bool {
	id, ok := e.(*ast.Ident)
	return ok && id.Name == "message"
}

func called(n *ast.CallExpr) (name, of string) {
	switch f := n.Fun.(type) {
	case *ast.Ident:
		return f.Name, ""
	case *ast.SelectorExpr:
		of = "?"
		switch x := f.X.(type) {
		case *ast.Ident:
			of = x.Name
		case *ast.SelectorExpr:
			of = x.Sel.Name
		}
		return f.Sel.Name, of
	}
	return "", ""
}

// constants gives the values of causes and of enumerated types.
func constants(dir string, decl *ast.GenDecl, add func(string)) {
	for _, spec := range decl.Specs {
		v := spec.(*ast.ValueSpec)
		kind, _ := v.Type.(*ast.Ident)
		for i, id := range v.Names {
			cause := (dir == "sensing" || dir == "cooling") && strings.HasPrefix(id.Name, "Cause")
			listed := false
			for _, k := range enumerated[dir] {
				listed = listed || kind != nil && kind.Name == k
			}
			if len(v.Values) <= i || !cause && !listed {
				continue
			}
			if b, ok := v.Values[i].(*ast.BasicLit); ok {
				if s, err := strconv.Unquote(b.Value); err == nil {
					add(s)
				}
			}
		}
	}
}
