package notebook

import (
	"database/sql"
	"errors"
	"fmt"

	"railtally/internal/trace/packed"
)

// checkTraces reads every chunk of every trace and compares it with what is kept beside it.
func checkTraces(q querier) (out []Problem, err error) {
	if there, err := hasTable(q, "chunk"); err != nil || !there {
		return nil, err
	}
	d, err := packed.NewDecoder()
	if err != nil {
		return nil, err
	}
	defer d.Close()
	rows, err := q.query("SELECT id, series, seq, samples, moments, data FROM chunk ORDER BY series, seq")
	if err != nil {
		return nil, err
	}
	var v []float64
	series, next, short := int64(0), int64(0), false
	for rows.Next() {
		var id, in, seq int64
		var samples int
		var moments, data sql.RawBytes
		if err := rows.Scan(&id, &in, &seq, &samples, &moments, &data); err != nil {
			rows.Close()
			return nil, err
		}
		tell := func(what string) { out = append(out, Problem{fmt.Sprintf("chunk %d", id), what}) }
		if in != series {
			series, next, short = in, 0, false
		}
		if seq != next || short {
			tell("does not follow the one before")
		}
		next, short = seq+1, samples < packed.ChunkSize
		m, merr := packed.ReadMoments(moments)
		if v, err = d.Decode(v[:0], data); err != nil || merr != nil {
			tell(errors.Join(err, merr).Error())
			continue
		}
		if _, exact := packed.Summarise(nil, v); len(v) != samples || exact != m {
			tell("its statistics are not those of its samples")
		}
	}
	return out, errors.Join(rows.Err(), rows.Close())
}
