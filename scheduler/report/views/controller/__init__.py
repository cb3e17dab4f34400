"""What a controller is set to, for spreadsheets and programs."""
