"""What people outside the office hold in their hands, written from the result file alone."""
