"""What coupons teach: a prior from the published table, moved by the coupons of one machine."""
