"""Jobs that never were: a house is drawn, its air network solved, and its readings taken off the solution as a technician would."""
