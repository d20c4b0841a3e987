"""What is kept of the work on the bench: findings as they were entered. Knows no physics."""
