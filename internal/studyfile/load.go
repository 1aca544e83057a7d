package studyfile

import (
	"errors"
	"fmt"
	"io"
	"os"

	"github.com/goccy/go-yaml"
	"github.com/goccy/go-yaml/lexer"
	"github.com/goccy/go-yaml/parser"

	"railtally/internal/study"
)

// Open reads the study file of that path. Errors in the file are a *Faults;
// other errors come from the file system.
func Open(path string) (*study.Study, *Index, error) {
	f, err := os.Open(path)
	if err != nil {
		return nil, nil, err
	}
	defer f.Close()
	src, err := io.ReadAll(io.LimitReader(f, MaxSize+1))
	if err != nil {
		return nil, nil, fmt.Errorf("read %s: %w", path, err)
	}
	if len(src) > MaxSize {
		// The text in hand is cut; the size of the whole is the better message.
		if info, err := f.Stat(); err == nil && info.Size() > MaxSize {
			return nil, nil, &Faults{[]FaultAt{{File: path, Line: 1, Column: 1, Message: oversize(info.Size()), Accept: oversizeAccept}}}
		}
	}
	return Read(path, src)
}

// Read reads a study from the text of a file; name is what messages call the
// file. On success every name in the study leads somewhere and Check finds
// nothing. The error is a *Faults with everything that is wrong, and the index
// is then still good for the parts that could be read.
func Read(name string, src []byte) (*study.Study, *Index, error) {
	return read(name, src, nil)
}

// read is Read that tells seen of every key of the form it comes across.
func read(name string, src []byte, seen func(section, key string)) (*study.Study, *Index, error) {
	r := &reader{file: name, index: newIndex(), study: &study.Study{Level: study.DefaultLevel}, seen: seen}
	root, c := parse(src)
	if c != nil {
		return nil, r.index, &Faults{[]FaultAt{{File: name, Line: c.spot.line, Column: c.spot.col, Message: c.message, Accept: c.accept}}}
	}
	r.settle(nil, root)
	r.readStudy(place{r, nil, root})
	r.check()
	if len(r.faults) > 0 {
		return nil, r.index, &Faults{sorted(r.faults)}
	}
	return r.study, r.index, nil
}

// parse takes the bytes of a file to a tree of nodes.
func parse(src []byte) (*node, *complaint) {
	text, c := guardBytes(src)
	if c != nil {
		return nil, c
	}
	tokens := lexer.Tokenize(text)
	if c := guardTokens(tokens); c != nil {
		return nil, c
	}
	file, err := parser.Parse(tokens, 0, parser.AllowDuplicateMapKey())
	if err != nil {
		var se *yaml.SyntaxError
		if errors.As(err, &se) {
			return nil, &complaint{spotOf(se.Token), lower(se.Message), ""}
		}
		return nil, &complaint{spot{1, 1}, lower(err.Error()), ""}
	}
	for _, doc := range file.Docs {
		if doc.Body != nil {
			return tree(doc.Body), nil
		}
	}
	return &node{kind: empty, spot: spot{1, 1}}, nil
}
