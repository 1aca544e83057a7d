package web

import (
	"bytes"
	"fmt"
	"net/url"
	"slices"
	"strings"

	"github.com/goccy/go-yaml/ast"
	"github.com/goccy/go-yaml/parser"

	"railtally/internal/study"
	"railtally/internal/studyfile"
)

// instrumentValues is an instrument as its form shows it: the texts of the study
// file, as they stand there. They are taken from the tree of the file, since a
// decoder would make numbers of a note such as 1_000.
func instrumentValues(in *study.Instrument) (url.Values, error) {
	var b bytes.Buffer
	err := studyfile.Write(&b, &study.Study{Question: "shelf", Level: study.DefaultLevel, Instruments: []*study.Instrument{in}})
	if err != nil {
		return nil, err
	}
	file, err := parser.ParseBytes(b.Bytes(), 0)
	if err != nil {
		return nil, err
	}
	v := url.Values{"name": {in.Name}}
	for _, section := range pairs(file.Docs[0].Body) {
		if textOf(section.Key) != "instruments" {
			continue
		}
		for _, x := range pairs(section.Value) { // there is one
			instrumentFields(v, x.Value)
		}
	}
	return v, nil
}

// instrumentFields sets the fields of one instrument.
func instrumentFields(v url.Values, of ast.Node) {
	for _, item := range pairs(of) {
		switch key := nameOf(textOf(item.Key)); {
		case key == "ranges":
			for n, rg := range pairs(item.Value) {
				v.Set(fmt.Sprintf("r%d.name", n), textOf(rg.Key))
				for _, x := range pairs(rg.Value) {
					setValue(v, fmt.Sprintf("r%d.%s", n, nameOf(textOf(x.Key))), x.Value)
				}
			}
		case isRangeKey(key):
			v.Set("r0."+key, textOf(item.Value))
		case key == "calibrated" || isField(key):
			setValue(v, key, item.Value)
		default:
			v.Set(otherHead+key, textOf(item.Value))
		}
	}
}

// setValue sets a field, or those of a calibration one by one.
func setValue(v url.Values, name string, value ast.Node) {
	inside := pairs(value)
	if len(inside) == 0 {
		v.Set(name, textOf(value))
	}
	for _, x := range inside {
		v.Set(name+"."+nameOf(textOf(x.Key)), textOf(x.Value))
	}
}

// pairs are the keys of a mapping with their values; of anything else, none.
func pairs(n ast.Node) []*ast.MappingValueNode {
	switch n := n.(type) {
	case *ast.MappingNode:
		return n.Values
	case *ast.MappingValueNode:
		return []*ast.MappingValueNode{n}
	}
	return nil
}

// textOf is a scalar as it is meant, whatever it might be taken for.
func textOf(n ast.Node) string {
	switch n := n.(type) {
	case nil:
		return ""
	case *ast.StringNode:
		return n.Value
	case *ast.LiteralNode:
		return n.Value.Value
	}
	return n.GetToken().Value
}

// nameOf is the field of a study file's key.
func nameOf(key string) string { return strings.ReplaceAll(key, " ", "-") }

// isField tells that the form has a field for a key of the instrument itself.
func isField(name string) bool {
	return slices.ContainsFunc(slices.Concat(generalFields(), shuntFields()), func(x field) bool { return x.Name == name })
}

func isRangeKey(name string) bool {
	_, own := map[string]bool{"to": true, "digit": true, "spec": true, "scale": true, "zero-drift": true, "position": true, "averages": true, "temperature": true}[name]
	return own
}
