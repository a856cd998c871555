/** What went wrong outside of any request, in words for people. */
export class ForPeople extends Error {}
