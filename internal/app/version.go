package app

import "runtime/debug"

// version names this build: the module's version, or the commit it was built
// from, with a mark where the tree had changes.
func version() string {
	info, ok := debug.ReadBuildInfo()
	if !ok {
		return "unknown"
	}
	if v := info.Main.Version; v != "" && v != "(devel)" {
		return v
	}
	name := "development"
	for _, setting := range info.Settings {
		switch {
		case setting.Key == "vcs.revision" && len(setting.Value) >= 12:
			name = setting.Value[:12]
		case setting.Key == "vcs.modified" && setting.Value == "true":
			name += "+changes"
		}
	}
	return name
}
