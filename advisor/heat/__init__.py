"""A resistance spot weld that can be seen: current, heat and melting, axisymmetric."""
