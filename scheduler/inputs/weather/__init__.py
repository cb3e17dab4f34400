"""Weather files and services into climates."""
