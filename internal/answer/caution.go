package answer

// The usual cautions of the trade. Each is said once, on the documents that it
// concerns, and defers to local rules and licensed practice.
const (
	CautionPrice = cautionValue + " " + cautionMarks // beside the prices of pieces

	cautionValue = "The values here are the dealer's own reckoning for trade. They are no appraisal for insurance, " +
		"tax, customs or probate: those want an appraiser who is licensed or accepted where you are."
	cautionMarks = "Hallmarking, fineness marks and taxes follow the rules of the country of sale: check them there " +
		"before the piece is made and sold."
	cautionBench = "Torch, pickle and plating baths burn and poison: work with ventilation, eye protection and " +
		"gloves, by the rules of your place and a trained hand. Pickle is acid; keep acid-sensitive stones out of it."
	cautionTests = "A bench identification is no laboratory report. Contact and heavy liquids are poisonous and UV " +
		"lamps hurt the eyes: gloves, ventilation, shielded lamp. Hot needle, acid and scratch tests destroy and are " +
		"never done on a cut stone."
	cautionDust = "Cutting and polishing dust harms the lungs, some stones carry harmful minerals, fibres or metals: " +
		"cut wet, with extraction and a mask that fits, by local rules."
	cautionCare = "Repairs belong in the hands of a trained jeweller: show this card before any work with heat, " +
		"acid, steam or ultrasound."

	// peopleTitle stands over what of the stones can hurt people.
	peopleTitle = "Danger to people (local rules come first)"
)
