"""What a weld is: sheets, surfaces, electrodes, settings, size rules, published settings."""
