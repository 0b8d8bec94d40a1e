"""What is known of a piece: the job's figures as plain facts, and what was noted at the bench."""
