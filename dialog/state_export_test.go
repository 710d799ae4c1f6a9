package dialog

import "reflect"

// StateFields is how many fields of a job are written down.
var StateFields = reflect.TypeFor[state]().NumField()
