"""What a user can do: one function a use case, with plain inputs and frozen results, for every door alike."""
