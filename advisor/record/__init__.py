"""What leaves the shop on paper: the record of a job, its files, and labels for coupons."""
