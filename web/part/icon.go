package part

// IconName names a picture of 24 by 24 units, drawn with a line 2 units wide.
// Pictures stand beside words, never instead of them.
type IconName string

const (
	IconToday    IconName = "today"
	IconRoster   IconName = "roster"
	IconStages   IconName = "stages"
	IconPlans    IconName = "plans"
	IconRates    IconName = "rates"
	IconReports  IconName = "reports"
	IconTerms    IconName = "terms"
	IconPeople   IconName = "people"
	IconGym      IconName = "gym"
	IconRope     IconName = "rope"
	IconDone     IconName = "done"
	IconCross    IconName = "cross"
	IconAlert    IconName = "alert"
	IconStop     IconName = "stop"
	IconWaiting  IconName = "waiting"
	IconSent     IconName = "sent"
	IconDevice   IconName = "device"
	IconAway     IconName = "away"
	IconWorking  IconName = "working"
	IconResting  IconName = "resting"
	IconGateMet  IconName = "gate-met"
	IconNotYet   IconName = "not-yet"
	IconTwice    IconName = "twice"
	IconLook     IconName = "look"
	IconNext     IconName = "next"
	IconBack     IconName = "back"
	IconUp       IconName = "up"
	IconDown     IconName = "down"
	IconAdd      IconName = "add"
	IconPrint    IconName = "print"
	IconDownload IconName = "download"
	IconSound    IconName = "sound"
	IconEdit     IconName = "edit"
)

// iconPaths holds the line of each picture.
var iconPaths = map[IconName]string{
	IconToday:    "M4 5h16v15H4zM4 10h16M8 2v5M16 2v5",
	IconRoster:   "M9 6h12M9 12h12M9 18h12M3 6h2M3 12h2M3 18h2",
	IconStages:   "M2 21h6v-6h6V9h6V3h2",
	IconPlans:    "M2 20h3V8h6v12h3V4h5v16h3",
	IconRates:    "M3 3v18h18M7 16l4-5 4 2 5-7",
	IconReports:  "M5 2h10l4 4v16H5zM9 11h6M9 15h6M9 19h3",
	IconTerms:    "M3 4h18M3 10h18M3 16h11M3 22h5",
	IconPeople:   "M9 3a4 4 0 1 0 .01 0zM2 21v-2l3-4h8l3 4v2M16 4a4 4 0 0 1 0 7M18 15l4 4v2",
	IconGym:      "M3 21V9l9-6 9 6v12M3 21h18M9 21v-8h6v8",
	IconRope:     "M4 3v6M20 3v6M4 9c0 16 16 16 16 0",
	IconDone:     "M4 12.5l5 5L20 6.5",
	IconCross:    "M5 5l14 14M19 5L5 19",
	IconAlert:    "M12 3L2 21h20zM12 10v5M12 17v2",
	IconStop:     "M8 2h8l6 6v8l-6 6H8l-6-6V8zM8 12h8",
	IconWaiting:  "M12 2.5a9.5 9.5 0 1 0 .01 0zM12 7v6h5",
	IconSent:     "M12 21V4M5 11l7-7 7 7",
	IconDevice:   "M6 2h12v20H6zM10 18h4",
	IconAway:     "M5 12h14",
	IconWorking:  "M2 20h4V6h12v14h4",
	IconResting:  "M2 8h4v12h12V8h4",
	IconGateMet:  "M2 20h5V6h10v14h5M9 12l2.5 2.5L15 10",
	IconNotYet:   "M2 20h5V6M17 6v14h5",
	IconTwice:    "M3 8h13v13H3zM8 3h13v13",
	IconLook:     "M2 12c5-8 15-8 20 0-5 8-15 8-20 0zM12 9a3 3 0 1 0 .01 0z",
	IconNext:     "M4 12h16M13 5l7 7-7 7",
	IconBack:     "M20 12H4M11 5l-7 7 7 7",
	IconUp:       "M12 20V4M5 11l7-7 7 7",
	IconDown:     "M12 4v16M5 13l7 7 7-7",
	IconAdd:      "M12 4v16M4 12h16",
	IconPrint:    "M7 8V3h10v5M7 17H3V8h18v9h-4M7 13h10v8H7z",
	IconDownload: "M12 3v12M6 9l6 6 6-6M4 21h16",
	IconSound:    "M3 9h4l6-5v16l-6-5H3zM17 8c2 2 2 6 0 8",
	IconEdit:     "M4 20v-4L16 4l4 4L8 20zM13 7l4 4",
}
