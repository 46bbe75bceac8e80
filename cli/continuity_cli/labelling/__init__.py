"""Labels printed for what the register knows: their codes, their faces, and the entry first."""
