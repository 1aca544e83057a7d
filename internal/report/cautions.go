package report

// caution is one thing to take care of before this work is repeated.
type caution struct{ Head, Text string }

// cautions are for a reader who wants to repeat the work. They are kept to
// what applies to every study of this kind. Sources: the figure for
// electrostatic charge is the scope of ANSI/ESD S20.20-2021, and that nobody
// feels it is from memory; solder fume and lead are as national safety
// regulators describe them, measurement categories as in the IEC 61010 series;
// the others are common practice, no source.
func (t tongue) cautions() []caution {
	return []caution{
		{t.say("Before anything else"), t.say("This page tells how a measurement was made. It replaces neither training nor the board maker's instructions, an employer's rules or local electrical codes. Circuits connected to the mains, and those in vehicles, aircraft, medical or safety equipment, belong to people licensed for them.")},
		{t.say("Low voltage is not low energy"), t.say("A rail of one volt can carry enough current to melt a ring or the tip of a probe. Take off rings, watches and bracelets.")},
		{t.say("Dead before soldering"), t.say("Switch off, unplug, take out the battery and every cable: data cables feed back. Wait, then measure each rail. Bleed capacitors through a resistor, never with a screwdriver.")},
		{t.say("Charge"), t.say("Bring person, bench and iron to one potential with strap and mat. Parts are commonly handled so that 100\u00a0V of body charge does no harm; a person feels nothing at that voltage.")},
		{t.say("Heat and fume"), t.say("Draw the fume off and keep your head out of it: rosin fume causes asthma. Wear eye protection, wash your hands after handling lead, and keep food off the bench.")},
		{t.say("Loops hold"), t.say("Solder and strain-relieve every loop. A loop that opens under load leaves the regulator without feedback and the chip partly powered. Insulate bare metal and carry the clamp's weight on a tether.")},
		{t.say("First power after a change"), t.say("Use a supply with a current limit a little above the known idle current, check every rail, look for hot parts, and only then run the load. Compare the board's input with its value from before.")},
		{t.say("Meters"), t.say("A meter set to current is a short circuit: put its leads back as soon as it has been used. An oscilloscope's earth clip is earth. Measure nothing of a higher category than the lowest part of the chain of meter, leads, clamp and adaptor is marked for; shunts and home-made leads have no category at all.")},
		{t.say("What cannot be undone"), t.say("Lifting parts ends the warranty and may change how the board heats, radiates and fails. Take photographs, keep what was removed, and do not pass the board on without saying so.")},
	}
}
