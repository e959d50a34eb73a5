package calc

// Caution is one plain sentence for the batch sheet, with where the advice
// comes from.
type Caution struct {
	Topic  CautionTopic
	Text   string
	Source string
}

// CautionTopic groups cautions by when they are needed.
type CautionTopic string

// The topics, in the order of a sheet.
const (
	CautionLye     CautionTopic = "lye"     // handling lye
	CautionInjury  CautionTopic = "injury"  // when lye got on someone
	CautionAlcohol CautionTopic = "alcohol" // spraying the top
	CautionSale    CautionTopic = "sale"    // before soap leaves the workshop
)

// DeferNotice stands on every sheet and label draft.
const DeferNotice = "Follow local law, the supplier's safety data sheet and certificate, and your safety assessor: " +
	"this sheet is not a safety assessment."

// Cautions is the usual cautions in the order of a batch sheet; the slice is
// the caller's. They remind someone who has been taught, and replace neither the
// safety data sheet nor medical advice.
func Cautions() []Caution {
	const icsc = "ICSC 0360 (sodium hydroxide)"
	const niosh = "NIOSH Pocket Guide, sodium hydroxide"
	return []Caution{
		{CautionLye, "Add lye to cold water a little at a time while stirring; never pour water onto lye.", icsc},
		{CautionLye, "Wear goggles, gloves that withstand lye, and long sleeves until everything is washed up.", niosh},
		{CautionLye, "Keep lye out of aluminium, tin and zinc: they give off hydrogen, which burns.", icsc},
		{CautionLye, "Have running water within reach before the lye is opened.", "OSHA 29 CFR 1910.151(c)"},
		{CautionLye, "Keep children and animals out while you work, and lye locked away and labelled.", "common practice"},
		{CautionInjury, "Lye on skin or in an eye: rinse at once with running water for 15 minutes or more, and get medical help.", icsc},
		{CautionInjury, "Lye swallowed: rinse the mouth, do not bring on vomiting, and get medical help at once.", icsc},
		{CautionInjury, "Use water alone: vinegar or anything else meant to neutralise lye makes a burn worse.", "common practice"},
		{CautionAlcohol, "Spray alcohol only in good air, away from every flame, spark and hot plate.", "common practice"},
		{CautionSale, "Soap that may hold free lye, or that turned out in a way you can not explain, is neither sold nor given away.", "common practice"},
	}
}
