package problem

import (
	"errors"
	"fmt"
	"testing"
)

func TestKindSurvivesWrapping(t *testing.T) {
	err := fmt.Errorf("class of Tuesday: %w", New(NotFound, "There is no such class."))
	if KindOf(err) != NotFound {
		t.Errorf("kind = %v, want NotFound", KindOf(err))
	}
	if got := MessageOf(err); got != "There is no such class." {
		t.Errorf("message = %q", got)
	}
}

func TestUnknownErrorsTellNothing(t *testing.T) {
	err := errors.New("dial tcp 10.0.0.1: secret detail")
	if KindOf(err) != Internal {
		t.Errorf("kind = %v, want Internal", KindOf(err))
	}
	if got := MessageOf(err); got == err.Error() {
		t.Errorf("message shows the internal error: %q", got)
	}
}

func TestFormWithoutMessagesIsNoError(t *testing.T) {
	if err := Form(nil); err != nil {
		t.Errorf("Form(nil) = %v", err)
	}
	err := Form(map[string]string{"seconds": "Type the seconds."})
	if KindOf(err) != Invalid || FieldsOf(err)["seconds"] != "Type the seconds." {
		t.Errorf("Form = %v", err)
	}
}

func TestCauseStaysOutOfTheMessage(t *testing.T) {
	cause := errors.New("23505")
	err := Wrap(cause, Conflict, "That name is taken.")
	if !errors.Is(err, cause) || MessageOf(err) != "That name is taken." {
		t.Errorf("Wrap = %v", err)
	}
}
