package packed

import (
	"encoding/binary"
	"hash/crc32"
	"testing"
)

// signed puts a right checksum behind a body, so that hostile bytes get past it.
func signed(body []byte) []byte {
	return binary.LittleEndian.AppendUint32(append([]byte(nil), body...), crc32.Checksum(body, crc32.MakeTable(crc32.Castagnoli)))
}

func FuzzDecode(f *testing.F) {
	e, d := coders(f)
	for _, v := range made(f, 200) {
		blob, err := e.Encode(nil, v)
		if err != nil {
			f.Fatal(err)
		}
		f.Add(blob[:len(blob)-4])
	}
	f.Fuzz(func(t *testing.T, body []byte) {
		v, err := d.Decode(nil, signed(body))
		if err == nil && (len(v) == 0 || len(v) > ChunkSize) {
			t.Fatalf("%d samples", len(v))
		}
	})
}

func FuzzDecodeRun(f *testing.F) {
	e, d := coders(f)
	run, _ := Summarise(nil, made(f, 2000)["with gaps"])
	blob, err := e.EncodeRun(nil, run)
	if err != nil {
		f.Fatal(err)
	}
	f.Add(blob)
	f.Fuzz(func(t *testing.T, body []byte) {
		if b, err := d.DecodeRun(nil, body); err == nil && len(b) > RunSize {
			t.Fatalf("%d buckets", len(b))
		}
	})
}
