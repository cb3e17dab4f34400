"""Pictures of what people ask once the controller is set."""
