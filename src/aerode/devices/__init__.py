"""What comes from outside: tables of any habit, instruments, logs."""
