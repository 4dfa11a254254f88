"""What is said: spelling alphabets, numbers, call signs, exchanges and phrases. No sound."""
