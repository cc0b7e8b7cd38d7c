// The order is the order in which both hear a question: trouble comes first.
import './clerk-trouble.ts';
import '../../server/clerk/main.ts';
