"""So much less water, or fewer days: who gives up what, least harm first."""
