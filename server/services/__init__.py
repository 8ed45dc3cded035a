"""What a person can do: one method per intent, one transaction each."""
