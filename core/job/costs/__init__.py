"""What a job costs: hand by hand, priced, by the shop's rates; above the job, its paint and its burns."""
