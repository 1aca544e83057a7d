package cooling

import (
	"math"

	"railtally/internal/cooling/heat"
	"railtally/internal/quantity"
	"railtally/internal/sensing"
	"railtally/internal/tally"
)

// DocumentFormat names the JSON form and its version. A new version is due
// when a field changes its meaning or goes; fields may be added without one.
const DocumentFormat = "railtally cooling 1"

// Document is the stable JSON form of a cooling. All figures are SI, and °C
// for temperatures, unrounded. docs/cooling.md describes it.
type Document struct {
	Format string     `json:"format"`
	Study  string     `json:"study"`
	Level  float64    `json:"level"`
	Boards []DocBoard `json:"boards"`
}

// DocBoard is one board.
type DocBoard struct {
	Name     string            `json:"name"`
	Chip     string            `json:"chip,omitempty"`
	Asked    *DocAsk           `json:"asked,omitempty"`
	Answers  []DocAnswer       `json:"answers"`
	Points   []DocPoint        `json:"points"`
	Path     *DocPath          `json:"path,omitempty"`
	Model    *DocModel         `json:"model,omitempty"`
	NoModel  string            `json:"no_model,omitempty"`
	Trial    *DocTrial         `json:"trial,omitempty"`
	Cautions []string          `json:"cautions"`
	Findings []sensing.Finding `json:"findings"`
}

// DocAsk is what the cooling must stand.
type DocAsk struct {
	Power     tally.DocFigure `json:"power_w"`
	FromState string          `json:"from_state,omitempty"`
	Room      tally.DocFigure `json:"room_c"`
	Altitude  float64         `json:"altitude_m"`
}

// DocAnswer is one answer.
type DocAnswer struct {
	Question    string   `json:"question"`
	Verdict     Verdict  `json:"verdict"`
	Probability *float64 `json:"probability,omitempty"`
	Text        string   `json:"text"`
	Rests       string   `json:"rests,omitempty"`
}

// DocPoint is one temperature.
type DocPoint struct {
	Name       string         `json:"name"`
	Kind       string         `json:"kind"`
	Limit      *float64       `json:"limit_c,omitempty"`
	Law        *DocLaw        `json:"law,omitempty"`
	Prediction *DocPrediction `json:"prediction,omitempty"`
	Readings   []DocReading   `json:"readings"`
}

// DocLaw is a fitted law: rise = Rise·(P/P0)^Exponent.
type DocLaw struct {
	P0              float64         `json:"p0_w"`
	Rise            tally.DocFigure `json:"rise_k"`
	Exponent        tally.DocFigure `json:"exponent"`
	Beforehand      float64         `json:"beforehand"`
	Alone           *float64        `json:"exponent_alone,omitempty"`
	UAlone          *float64        `json:"u_exponent_alone,omitempty"`
	Scatter         float64         `json:"scatter_k"`
	ScatterAssessed bool            `json:"scatter_assessed"`
	Readings        int             `json:"readings"`
	LowestPower     float64         `json:"lowest_power_w"`
	HighestPower    float64         `json:"highest_power_w"`
}

// DocPrediction is the temperature at what is asked.
type DocPrediction struct {
	Temperature tally.DocFigure `json:"temperature_c"`
	Probability *float64        `json:"probability,omitempty"`
	Margin      *float64        `json:"margin_k,omitempty"`
	MostPower   *float64        `json:"most_power_w,omitempty"`
	WarmestRoom *float64        `json:"warmest_room_c,omitempty"`
	Beyond      bool            `json:"beyond_measured,omitempty"`
}

// DocReading is one reading.
type DocReading struct {
	State       string          `json:"state"`
	Sitting     string          `json:"sitting"`
	Power       tally.DocFigure `json:"power_w"`
	Temperature tally.DocFigure `json:"temperature_c"`
	Rise        tally.DocFigure `json:"rise_k"`
	Resistance  tally.DocFigure `json:"resistance_k_w"`
	Settling    *DocSettling    `json:"settling,omitempty"`
	Unsettled   string          `json:"unsettled,omitempty"`
}

// DocSettling is what a series says.
type DocSettling struct {
	Readings    int      `json:"readings"`
	Final       float64  `json:"final_c"`
	U           float64  `json:"u"`
	Remaining   float64  `json:"remaining_k"`
	Seen        float64  `json:"seen"`
	Tau         float64  `json:"tau_s"`
	Exponential float64  `json:"plain_exponential_c"`
	Settled     bool     `json:"settled"`
	Warnings    []string `json:"warnings,omitempty"`
}

// DocPath is the ladder of the heat path.
type DocPath struct {
	Power    tally.DocFigure `json:"power_w"`
	Rungs    []DocRung       `json:"rungs"`
	Up       *float64        `json:"up_w,omitempty"`
	Radiated *float64        `json:"radiated_w,omitempty"`
	Down     *float64        `json:"down_w,omitempty"`
}

// DocRung is one rung; Step is the resistance to the rung below.
type DocRung struct {
	Name        string           `json:"name"`
	Temperature tally.DocFigure  `json:"temperature_c"`
	Limit       *float64         `json:"limit_c,omitempty"`
	Step        *tally.DocFigure `json:"step_k_w,omitempty"`
}

// DocModel is the model of the sink.
type DocModel struct {
	Calibrated bool             `json:"calibrated"`
	At         string           `json:"at,omitempty"`
	Factor     *tally.DocFigure `json:"factor,omitempty"`
	Interface  *tally.DocFigure `json:"interface_k_w,omitempty"`
	Sink       *DocSink         `json:"sink,omitempty"`
}

// DocSink is a sink as it was computed.
type DocSink struct {
	Kind       string  `json:"kind"`
	Width      float64 `json:"width_m"`
	Length     float64 `json:"length_m"`
	Base       float64 `json:"base_m"`
	Fins       int     `json:"fins,omitempty"`
	Height     float64 `json:"fin_height_m,omitempty"`
	Thickness  float64 `json:"fin_thickness_m,omitempty"`
	Gap        float64 `json:"gap_m,omitempty"`
	Stand      string  `json:"stands"`
	Emissivity float64 `json:"emissivity"`
}

// DocTrial is a change that was tried.
type DocTrial struct {
	Sink        *DocSink   `json:"sink,omitempty"`
	AirSpeed    *float64   `json:"air_speed_m_s,omitempty"`
	Ratio       *float64   `json:"ratio,omitempty"`
	Discrepancy float64    `json:"discrepancy"`
	Points      []DocTried `json:"points"`
	Doubts      []string   `json:"doubts"`
}

// DocTried is a temperature after a change.
type DocTried struct {
	Name       string        `json:"name"`
	Prediction DocPrediction `json:"prediction"`
}

// Document gives the JSON form. trials are changes that were tried, by board.
func (c *Cooling) Document(trials map[string]*Trial) (*Document, error) {
	out := &Document{Format: DocumentFormat, Study: c.Tally.Study.Question, Level: c.Level, Boards: []DocBoard{}}
	for _, b := range c.Boards {
		d, err := c.docBoard(b, trials[b.Name])
		if err != nil {
			return nil, err
		}
		out.Boards = append(out.Boards, *d)
	}
	return out, nil
}

func docFigure(f tally.Figure) tally.DocFigure {
	out := tally.DocFigure{Value: f.Estimate, U: f.U, K: f.K, Expanded: f.Expanded, Low: f.Lo(), High: f.Hi()}
	if !math.IsInf(f.DOF, 0) && !math.IsNaN(f.DOF) {
		out.DOF = &f.DOF
	}
	return out
}

// number is a pointer to a number that there is.
func number(x float64) *float64 {
	if math.IsNaN(x) || math.IsInf(x, 0) {
		return nil
	}
	return &x
}

func (c *Cooling) docBoard(b *Board, trial *Trial) (*DocBoard, error) {
	d := &DocBoard{Name: b.Name, Chip: b.Chip, Answers: []DocAnswer{}, Points: []DocPoint{}, Cautions: []string{}, Findings: []sensing.Finding{}}
	d.Findings = append(d.Findings, b.Findings...)
	if b.NoModel != nil {
		d.NoModel = b.NoModel.Error()
	}
	if b.Ask.Known() {
		power, err := figure(c.Tally.Graph, b.Ask.Power, c.Level)
		if err != nil {
			return nil, err
		}
		room, err := figure(c.Tally.Graph, b.Ask.Room, c.Level)
		if err != nil {
			return nil, err
		}
		d.Asked = &DocAsk{docFigure(power), b.Ask.FromState, docFigure(room), b.Ask.Altitude}
	}
	answers, err := c.Answers(b)
	if err != nil {
		return nil, err
	}
	for _, a := range answers {
		d.Answers = append(d.Answers, DocAnswer{a.Question, a.Verdict, number(a.Probability), a.Text, a.Rests})
	}
	for _, p := range b.Points {
		dp, err := c.docPoint(b, p)
		if err != nil {
			return nil, err
		}
		d.Points = append(d.Points, *dp)
	}
	if d.Path, err = c.docPath(b); err != nil {
		return nil, err
	}
	if m := b.Model; m != nil {
		d.Model = &DocModel{Calibrated: m.Calibrated, Sink: docSink(m.Ladder.Sink)}
		if m.Ladder.Sink != nil {
			f, i := docFigure(m.Factor), docFigure(m.Interface)
			d.Model.Factor, d.Model.Interface = &f, &i
		}
		if m.At != nil {
			d.Model.At = m.At.Name
		}
	}
	if trial != nil {
		d.Trial = docTrial(trial)
	}
	cautions, err := c.Cautions(b)
	d.Cautions = append(d.Cautions, cautions...)
	return d, err
}

func (c *Cooling) docPoint(b *Board, p *Point) (*DocPoint, error) {
	d := &DocPoint{Name: p.Name, Kind: string(p.Kind), Readings: []DocReading{}}
	if p.Limit != nil {
		d.Limit = number(p.Limit.Max.Value())
	}
	if l := p.Law; l != nil {
		d.Law = &DocLaw{P0: l.P0, Rise: docFigure(l.Rise), Exponent: docFigure(l.Exponent), Beforehand: l.Beforehand, Alone: number(l.Alone),
			UAlone: number(l.UAlone), Scatter: l.Scatter, ScatterAssessed: l.Assessed, Readings: l.N0, LowestPower: l.PMin, HighestPower: l.PMax}
	}
	if p.Line != nil && b.Ask.Known() {
		pr, err := c.Predict(p, b.Ask.Power, b.Ask.Room, b.Ask.Pressure)
		if err != nil {
			return nil, err
		}
		dp := docPrediction(pr)
		if pr.Limited {
			dp.MostPower = number(p.Line.PowerFor(pr.Limit, b.Ask.Room.Estimate(), b.Ask.Pressure, c.Level))
			dp.WarmestRoom = number(p.Line.RoomFor(pr.Limit, b.Ask.Power.Estimate(), b.Ask.Pressure, c.Level))
		}
		d.Prediction = &dp
	}
	for _, r := range p.Readings {
		dr := DocReading{State: r.On.State, Sitting: r.Sitting.Name, Power: docFigure(r.Power), Temperature: docFigure(r.Temperature),
			Rise: docFigure(r.Rise), Resistance: docFigure(r.Resistance)}
		if s := r.Settling; s != nil {
			dr.Settling = &DocSettling{s.N, s.Final, s.U, s.Remaining, s.Seen, s.Tau, s.Exponential, s.Settled, s.Warnings}
		}
		if r.Unsettled != nil {
			dr.Unsettled = r.Unsettled.Error()
		}
		d.Readings = append(d.Readings, dr)
	}
	return d, nil
}

func docPrediction(pr *Prediction) DocPrediction {
	d := DocPrediction{Temperature: docFigure(pr.Temperature), Beyond: pr.Beyond}
	if pr.Limited {
		d.Probability, d.Margin = number(pr.Probability), number(pr.Margin)
	}
	return d
}

func (c *Cooling) docPath(b *Board) (*DocPath, error) {
	h, err := c.Path(b)
	if h == nil || err != nil {
		return nil, err
	}
	d := &DocPath{Power: docFigure(h.Power), Up: number(h.Up), Radiated: number(h.Radiated), Down: number(h.Down)}
	for i, r := range h.Rungs {
		dr := DocRung{Name: r.Name, Temperature: docFigure(r.Temperature)}
		if r.Limited {
			dr.Limit = number(r.Limit)
		}
		if i > 0 {
			f := docFigure(h.Steps[i-1])
			dr.Step = &f
		}
		d.Rungs = append(d.Rungs, dr)
	}
	return d, nil
}

func docSink(s *heat.Sink) *DocSink {
	if s == nil {
		return nil
	}
	return &DocSink{string(s.Kind), s.Width, s.Length, s.Base, s.Fins, s.Height, s.Thickness, s.Gap(), string(s.Stand), s.Emissivity}
}

func docTrial(t *Trial) *DocTrial {
	d := &DocTrial{Sink: docSink(t.Sink), AirSpeed: t.Change.Speed, Ratio: number(t.Ratio), Discrepancy: t.Discrepancy,
		Points: []DocTried{}, Doubts: append([]string{}, t.Doubts...)}
	for _, p := range t.Points {
		d.Points = append(d.Points, DocTried{p.Point.Name, docPrediction(p)})
	}
	return d
}

// TrialSentences say what a trial comes to, one for each temperature.
func (c *Cooling) TrialSentences(b *Board, t *Trial) []string {
	var out []string
	for _, p := range t.Points {
		s := upper(c.conditions(b, p)) + " the " + p.Point.Name + " would reach " + written(p.Temperature, quantity.Celsius)
		if p.Limited {
			s += ", " + margin(p)
		}
		out = append(out, s+".")
	}
	return out
}
