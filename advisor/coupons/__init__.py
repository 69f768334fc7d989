"""What was tested: coupons, their verdicts, and the joints they speak for."""
