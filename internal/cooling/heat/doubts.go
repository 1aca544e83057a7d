package heat

import "fmt"

// Doubts says, a sentence each, where a balance leaves the ranges that the
// formulas were made for, or uses one that is known to be weak.
func (l *Ladder) Doubts(r Rungs, in Surroundings) []string {
	var out []string
	say := func(format string, a ...any) { out = append(out, fmt.Sprintf(format, a...)) }
	hottest := r.Case
	if film := (hottest + in.Air) / 2; film < coldAir || film > hotAir {
		say("The air's properties are known from %.0f to %.0f °C; here it is taken at %.0f °C.", coldAir, hotAir, film)
	}
	if l.Sink != nil && r.Base > in.Air {
		l.sinkDoubts(r, in, say)
	}
	if l.board != nil && l.board.Stand == FacingUp {
		say("The board lies: formulas for lying plates as small as this are good to ±20 %% only.")
	}
	if in.Speed > 0 {
		say("A draught is taken to help the rising air; one that blows against it or across the fins does less and may do harm. The speed is that between the fins: without a shroud 0.3 to 0.8 of what approaches (common practice, no source).")
	}
	return out
}

func (l *Ladder) sinkDoubts(r Rungs, in Surroundings, say func(string, ...any)) {
	s := *l.Sink
	if s.Stand == Upright && (r.Loss.RayleighFace > 1e9) {
		say("The sink's faces are so tall that the air may turn turbulent (Ra %.1g; the formula holds to 1e9).", r.Loss.RayleighFace)
	}
	if s.Kind == Plate {
		if s.Stand == FacingUp && r.Loss.RayleighFace < 1e4 || s.Stand == FacingDown && r.Loss.RayleighFace < 1e5 {
			say("A lying plate this small is outside the range of the common formulas (Ra %.1g); ±20 %%.", r.Loss.RayleighFace)
		}
		return
	}
	if s.Stand != Upright {
		say("The sink is %s: its convection is taken as %.0f %% of that of an upright one, the middle of what is said in the trade (common practice, no source).", s.Stand, 100*s.Stand.derate())
	}
	if r.Loss.Elenbaas > 1e5 {
		say("The gaps are so wide that the formula for channels ends (El %.1g; 0.1 to 1e5).", r.Loss.Elenbaas)
	}
	if r.Loss.Elenbaas < 5 && in.Speed == 0 {
		say("The gaps are narrow for still air (El %.2g): real sinks draw air in from the fin tips and do better, by 20 to 30 %% (common practice, no source).", r.Loss.Elenbaas)
	}
	if s.Height < 3*s.Gap() {
		say("The fins are short for their gaps (height below three gaps): air enters from the tips, and the sink does a little better than computed.")
	}
	if in.Speed > 0 {
		air := AirAt((r.Base+in.Air)/2, in.Pressure)
		if re := ChannelReynolds(air, in.Speed, s.Gap(), s.Length); re < 0.1 || re > 100 {
			say("The draught is outside the range of the formula for blown channels (Re* %.2g; 0.1 to 100).", re)
		}
	}
}
