package orders

// soapNames are the usual label names of the starting oils once they are
// saponified with sodium hydroxide (from memory): defaults for the maker to confirm.
var soapNames = map[string]string{
	"olive oil":              "Sodium Olivate",
	"coconut oil":            "Sodium Cocoate",
	"palm oil":               "Sodium Palmate",
	"sunflower oil":          "Sodium Sunflowerseedate",
	"shea butter, unrefined": "Sodium Shea Butterate",
	"cocoa butter":           "Sodium Cocoa Butterate",
}
