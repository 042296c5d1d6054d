"""What every test shares."""
