"""Many runs of one bank whose values are not known exactly: draws, chances, sensitivities."""
